#include "report/diagnosis_blocks.hpp"

#include <algorithm>
#include <iterator>

#include "report/confidence_words.hpp"
#include "report/phrases.hpp"
#include "report/weave_words.hpp"

namespace sievecloth {
namespace {

// A figure in both directions; null where one does not have it.
struct Pair {
  const Figure* warp = nullptr;
  const Figure* weft = nullptr;
  const Figure& any() const { return warp != nullptr ? *warp : *weft; }
};

// In the order of the groups: what only the second has stands behind what it follows there.
std::vector<Pair> pairs_of(const FigureGroup& warp, const FigureGroup& weft) {
  std::vector<Pair> pairs;
  for (const Figure& figure : warp.figures) pairs.push_back({&figure, nullptr});
  std::size_t next = 0;
  for (const Figure& figure : weft.figures) {
    const auto same = std::find_if(pairs.begin(), pairs.end(), [&](const Pair& pair) {
      return pair.warp != nullptr && pair.warp->id == figure.id && pair.warp->name == figure.name;
    });
    if (same == pairs.end()) {
      pairs.insert(pairs.begin() + static_cast<std::ptrdiff_t>(next), {nullptr, &figure});
      ++next;
    } else {
      same->weft = &figure;
      next = static_cast<std::size_t>(std::distance(pairs.begin(), same)) + 1;
    }
  }
  return pairs;
}

std::string of_direction(Direction direction, const std::string& sentence, const Words& words) {
  return words("sure.of-direction", {{"direction", measured_phrase(direction, words)}, {"sentence", sentence}});
}

// One sentence where both directions have the same.
std::string meaning(const Pair& pair, const Words& words) {
  if (pair.warp == nullptr || pair.weft == nullptr || pair.warp->sentence == pair.weft->sentence) return pair.any().sentence;
  return of_direction(Direction::warp, pair.warp->sentence, words) + "; " +
         of_direction(Direction::weft, pair.weft->sentence, words);
}

}  // namespace

std::vector<Block> confidence_blocks(const ReportContext& of, const Diagnosis& diagnosis) {
  const Words& words = of.words;
  const std::vector<FigureGroup> groups = how_sure_figures(of.assessment, diagnosis, words);
  const FigureGroup& piece = groups[0];
  Notes notes{piece.notes};
  for (const Direction direction : k_directions) {
    for (const std::string& note : groups[direction == Direction::warp ? 1 : 2].notes)
      notes.items.push_back(of_direction(direction, note, words));
  }
  Facts facts;
  for (const Figure& figure : piece.figures)
    facts.facts.push_back({figure.name, words("sure.of-piece", {{"value", figure.shown}, {"sentence", figure.sentence}})});
  Table table{{{words("column.figure")}, {words("measured.warp")}, {words("measured.weft")}, {words("column.meaning")}}, {}};
  const std::string dash = words("dash");
  for (const Pair& pair : pairs_of(groups[1], groups[2]))
    table.rows.push_back({{pair.any().name, true},
                          {pair.warp != nullptr ? pair.warp->shown : dash},
                          {pair.weft != nullptr ? pair.weft->shown : dash},
                          {meaning(pair, words)}});
  std::vector<Block> blocks;
  if (!notes.items.empty()) blocks.emplace_back(std::move(notes));
  blocks.emplace_back(std::move(facts));
  if (!table.rows.empty()) blocks.emplace_back(std::move(table));
  return blocks;
}

std::vector<Block> weave_blocks(const ReportContext& of, const Diagnosis& diagnosis) {
  const FigureGroup found = weave_figures(diagnosis, of.words).front();
  Notes notes{found.notes};
  for (std::string& sentence : nonsignificant_sentences(diagnosis.weave, of.words)) notes.items.push_back(std::move(sentence));
  Table table{{{of.words("column.figure")}, {of.words("column.value")}, {of.words("column.meaning")}}, {}};
  for (const Figure& figure : found.figures) table.rows.push_back({{figure.name, true}, {figure.shown}, {figure.sentence}});
  std::vector<Block> blocks{std::move(notes)};
  if (!table.rows.empty()) blocks.emplace_back(std::move(table));
  return blocks;
}

}  // namespace sievecloth
