#include "report/words.hpp"

#include <algorithm>

namespace sievecloth {

std::string filled(std::string_view text, std::span<const Filling> fillings) {
  std::string result;
  while (!text.empty()) {
    const std::size_t open = std::min(text.find('{'), text.size());
    result += text.substr(0, open);
    text.remove_prefix(open);
    if (text.empty()) break;
    const std::size_t close = std::min(text.find('}'), text.size() - 1);
    const std::string_view place = text.substr(0, close + 1);
    const auto filling = std::find_if(fillings.begin(), fillings.end(), [&](const Filling& candidate) {
      return place.size() == candidate.place.size() + 2 && place.substr(1, candidate.place.size()) == candidate.place;
    });
    result += filling == fillings.end() ? place : filling->text;
    text.remove_prefix(place.size());
  }
  return result;
}

namespace {

struct Term {
  std::string_view iso, astm;
};

constexpr auto k_terms =
    std::to_array<Term>({{"aperture", "opening"}, {"Aperture", "Opening"}, {"weft", "shute"}, {"Weft", "Shute"}});

// Places keep their names.
std::string in_terms_of_astm(std::string_view text) {
  std::string result;
  bool in_place = false;
  while (!text.empty()) {
    const auto term = std::find_if(k_terms.begin(), k_terms.end(), [&](const Term& each) { return text.starts_with(each.iso); });
    if (!in_place && term != k_terms.end()) {
      result += term->astm;
      text.remove_prefix(term->iso.size());
      continue;
    }
    if (text.front() == '{') in_place = true;
    if (text.front() == '}') in_place = false;
    result += text.front();
    text.remove_prefix(1);
  }
  return result;
}

}  // namespace

Vocabulary vocabulary_of(const Edition& edition) noexcept {
  return edition.title.starts_with("ASTM") ? Vocabulary::astm : Vocabulary::iso;
}

std::string Words::operator()(Key key, std::span<const Filling> fillings) const {
  const auto own = wording_.texts.find(std::string(key.english().key));
  if (own != wording_.texts.end()) return filled(own->second, fillings);
  const std::string_view english = key.english().text;
  return vocabulary_ == Vocabulary::iso ? filled(english, fillings) : filled(in_terms_of_astm(english), fillings);
}

std::string Words::of_table(std::string_view english) const {
  const auto own = wording_.table_texts.find(std::string(english));
  return own == wording_.table_texts.end() ? std::string(english) : own->second;
}

std::string Words::number(std::string digits) const {
  std::replace(digits.begin(), digits.end(), '.', wording_.decimal_mark);
  return digits;
}

}  // namespace sievecloth
