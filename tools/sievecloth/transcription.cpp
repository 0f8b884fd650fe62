#include "transcription.hpp"

#include <algorithm>
#include <set>
#include <tuple>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "base/complaints.hpp"
#include "owners_table.hpp"
#include "sievecloth/plausibility.hpp"
#include "sievecloth/table_file.hpp"
#include "standards/row_values.hpp"
#include "yaml/yaml_file.hpp"

namespace sievecloth::tool {
namespace {

Error finding(const Where& where, std::string message, std::string found, std::string expected) {
  return {ErrorCode::wrong_value, std::move(message), std::move(found), std::move(expected), where};
}

std::string name_of(Length size, std::string_view head) {
  return size == Length() ? std::string(head) : fmt::format("{}, {}", to_text(size), head);
}

std::string place(const Where& where) { return fmt::format("{}:{}:{}", where.file, where.line, where.column); }

std::string quoted(std::string_view text) {
  std::string quoted = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') quoted += '\\';
    quoted += c;
  }
  return quoted + '"';
}

/// `astm-e11` and `17`.
std::pair<std::string_view, std::string_view> parts_of(std::string_view name) {
  const std::size_t hyphen = std::min(name.rfind('-'), name.size());
  return {name.substr(0, hyphen), name.substr(std::min(hyphen + 1, name.size()))};
}

const CopiedCell* cell_of(const CopiedRows& rows, Length size, std::size_t item) {
  const auto row = rows.find(size);
  if (row == rows.end()) return nullptr;
  const auto cell = row->second.find(item);
  return cell == row->second.end() ? nullptr : &cell->second;
}

const Row* row_of(const Edition& edition, Length nominal) {
  const auto found = std::find_if(edition.rows.begin(), edition.rows.end(), [&](const Row& row) { return row.nominal == nominal; });
  return found == edition.rows.end() ? nullptr : &*found;
}

bool is(std::size_t item, std::string_view name) { return k_sheet_items[item].name == name; }

/// Writes the table, one value to a line, and remembers the cell of each line.
class TableWriter {
 public:
  TableWriter(const Transcription& transcription, const CopiedRows& rows, const std::vector<Accepted>& accepted)
      : transcription_(transcription), rows_(rows), accepted_(accepted), nearest_(nearest_edition(transcription.standard)) {}

  std::string write() {
    write_head();
    write_rules();
    line(rows_.begin()->first == Length() ? "rows: []" : "rows:");  // the rules come last
    for (const auto& [size, cells] : rows_) {
      if (size != Length()) write_row(size, cells);
    }
    write_errata();
    return std::move(yaml_);
  }

  /// The cell at a line of the table.
  Where where_of(std::int64_t number) const {
    const auto index = static_cast<std::size_t>(number) - 1;
    return number >= 1 && index < lines_.size() ? lines_[index] : Where{};
  }
  /// What a rule lacks.
  const Errors& errors() const { return errors_; }

 private:
  void line(std::string_view text, const Where& where = {}) {
    yaml_ += fmt::format("{}\n", text);
    lines_.push_back(where);
  }

  std::string title() const {
    const auto [standard, edition] = parts_of(transcription_.standard);
    if (nearest_ == nullptr) return transcription_.standard;
    const std::string_view title = nearest_->title;
    return fmt::format("{}{}", title.substr(0, title.size() - parts_of(nearest_->name).second.size()), edition);
  }

  void write_head() {
    const auto [standard, edition] = parts_of(transcription_.standard);
    const std::string by = fmt::format("transcribed from {} by {}, verified by {}, {}", transcription_.copy, transcription_.by[0],
                                       transcription_.by[1], transcription_.date);
    line("# Written by `sievecloth transcribe`. Not to be edited: change both sheets and transcribe again.");
    line("schema: sievecloth-table/1");
    line(fmt::format("standard: {}", quoted(standard)));
    line(fmt::format("edition: {}", quoted(edition)));
    line(fmt::format("title: {}", quoted(title())));
    line("unit: um");
    line(fmt::format("rests_on: {}", quoted(by)));
    line(fmt::format("transcribed: {{copy: {}, by: {}, verified_by: {}, date: {}}}", quoted(transcription_.copy),
                     quoted(transcription_.by[0]), quoted(transcription_.by[1]), quoted(transcription_.date)));
    line(fmt::format("sources: [{{id: copy, title: {}}}]", quoted(by)));
    line("defaults: {rows: {provenance: seen, source: copy}}");
  }

  // ---- rules

  /// The texts of the items of a rule, all of them or none.
  std::vector<std::string> rule(std::string_view name, bool complete = true) {
    std::vector<std::string> texts;
    const CopiedCell* filled = nullptr;
    bool lacks = false;
    for (std::size_t i = 0; i < k_sheet_items.size(); ++i) {
      if (!k_sheet_items[i].rule || !is(i, name)) continue;
      const CopiedCell* cell = cell_of(rows_, Length(), i);
      if (cell == nullptr) {
        lacks = true;
        texts.emplace_back();
      } else {
        filled = cell;
        texts.push_back(cell->text);
      }
    }
    if (filled == nullptr) return {};
    where_ = filled->where;
    if (lacks && complete)
      errors_.push_back(finding(where_, fmt::format("the rule '{}' is not complete", name), "", "all its rows filled in"));
    return texts;
  }

  void write_rule(std::string_view name, const std::string& text) {
    line(fmt::format("  {}: {{{}, provenance: seen, source: copy}}", name, text), where_);
  }

  void write_rules() {
    const bool any = rows_.contains(Length());
    line(any ? "rules:" : "rules: {}");
    if (const auto graded = rule("graded"); !graded.empty()) line(fmt::format("  graded: {}", graded[0] == "yes"), where_);
    if (const auto spread = rule("spread", false); !spread.empty()) write_spread(spread);
    if (const auto share = rule("share"); !share.empty()) write_rule("share", fmt::format("percent: {}", quoted(share[0])));
    if (const auto resolution = rule("resolution"); !resolution.empty())
      write_rule("resolution", fmt::format("floor: {}, fraction_of_average: {}", quoted(resolution[0]), quoted(resolution[1])));
    if (const auto scale = rule("count_scale"); !scale.empty())
      write_rule("count_scale", fmt::format("compliance: {}, inspection: {}, calibration: {}", quoted(scale[0]), quoted(scale[1]),
                                            quoted(scale[2])));
    if (const auto wires = rule("wire_count"); !wires.empty()) write_rule("wire_count", fmt::format("value: {}", quoted(wires[0])));
  }

  void write_spread(const std::vector<std::string>& texts) {
    const bool tails = std::none_of(texts.begin() + 1, texts.end(), [](const std::string& text) { return text.empty(); });
    const bool no_tails = std::all_of(texts.begin() + 1, texts.end(), [](const std::string& text) { return text.empty(); });
    if (texts[0] == "s" && no_tails) return write_rule("spread", "factor: false");
    if (texts[0] == "K s" && tails) {
      return write_rule("spread",
                        fmt::format("factor: true, settled: true, tail: {{compliance: {}, inspection: {}, calibration: {}}}",
                                    quoted(texts[1]), quoted(texts[2]), quoted(texts[3])));
    }
    errors_.push_back(finding(where_, "the rule 'spread' contradicts itself or is not complete", texts[0],
                              "s without tails of chi-square, or K s with all three"));
  }

  // ---- sizes

  void write_row(Length size, const std::map<std::size_t, CopiedCell>& cells) {
    line(fmt::format("  - nominal: {}", quoted(to_text(size, Unit::micrometre))), cells.begin()->second.where);
    std::string_view open;
    for (const auto& [item, cell] : cells) {
      const std::string_view name = k_sheet_items[item].name;
      const std::size_t dot = name.find('.');
      const std::string_view group = dot == std::string_view::npos ? std::string_view() : name.substr(0, dot);
      if (!group.empty() && group != open) line(fmt::format("    {}:", group), cell.where);
      open = group;
      line(group.empty() ? fmt::format("    {}: {}", name, quoted(cell.text))
                         : fmt::format("      {}: {}", name.substr(dot + 1), quoted(cell.text)),
           cell.where);
    }
  }

  // ---- what was accepted

  void write_errata() {
    if (accepted_.empty()) return;
    line("errata:");
    for (const Accepted& accepted : accepted_) {
      const std::string sizes = accepted.size == Length() ? all_sizes() : quoted(to_text(accepted.size, Unit::micrometre));
      line(fmt::format("  - {{sizes: [{}], value: {}, date: {}, printed: {}, used: as printed, reason: {}}}", sizes,
                       quoted(accepted.value), quoted(transcription_.date), quoted(accepted.printed),
                       quoted(accepted.reason + built_in(accepted))),
           accepted.where);
    }
  }

  std::string all_sizes() const {
    std::set<Length, std::greater<>> sizes;
    for (const auto& [size, cells] : rows_) sizes.insert(size);
    sizes.erase(Length());
    if (nearest_ != nullptr && nearest_->name == transcription_.standard) {
      for (const Row& row : nearest_->rows) sizes.insert(row.nominal);
    }
    std::vector<std::string> texts;
    for (const Length size : sizes) texts.push_back(quoted(to_text(size, Unit::micrometre)));
    return fmt::format("{}", fmt::join(texts, ", "));
  }

  std::string built_in(const Accepted& accepted) const {
    if (nearest_ == nullptr) return "";
    const Row* row = accepted.size == Length() ? &nearest_->rows.front() : row_of(*nearest_, accepted.size);
    if (row == nullptr) return "";
    const auto values = values_named(*nearest_, *row, accepted.value);
    if (values.empty() || values.front() == accepted.printed) return "";
    return fmt::format(" (the built-in table {} has {})", nearest_->name, fmt::join(values, ", "));
  }

  const Transcription& transcription_;
  const CopiedRows& rows_;
  const std::vector<Accepted>& accepted_;
  const Edition* nearest_;
  std::string yaml_;
  std::vector<Where> lines_;
  Errors errors_;
  Where where_;  // of the rule that is written
};

/// Finds what looks wrong in the table that the copied cells make.
class Findings {
 public:
  Findings(const Edition& edition, const CopiedRows& rows, const std::vector<Accepted>& accepted, const Edition* nearest)
      : edition_(edition), rows_(rows), accepted_(accepted), used_(accepted.size(), false), nearest_(nearest) {}

  Errors find() {
    for (const Implausibility& found : find_implausible(edition_)) add_implausible(found);
    if (nearest_ != nullptr) compare_with_built_in();
    for (std::size_t i = 0; i < accepted_.size(); ++i) {
      if (!used_[i])
        errors_.push_back(
            finding(accepted_[i].where, "accepted, but nothing looks wrong there", accepted_[i].value, "no such entry"));
    }
    return std::move(errors_);
  }

 private:
  bool accept(Length size, std::string_view value) {
    bool found = false;
    for (std::size_t i = 0; i < accepted_.size(); ++i) {
      if (accepted_[i].size != size || accepted_[i].value != value) continue;
      used_[i] = found = true;
    }
    return found;
  }

  /// Values that were not copied are not for this sheet to explain.
  void add_implausible(const Implausibility& found) {
    for (std::size_t i = 0; i < k_sheet_items.size(); ++i) {
      const SheetItem& item = k_sheet_items[i];
      const Length size = item.rule ? Length() : found.row->nominal;
      const CopiedCell* cell = cell_of(rows_, size, i);
      const bool same = item.name == found.value || found.value.starts_with(fmt::format("{}.", item.name));
      if (!same || cell == nullptr || accept(size, item.name) || found.explained ||
          !told_.emplace(size, found.value + found.text).second)
        continue;
      errors_.push_back(finding(cell->where, fmt::format("{} looks wrong", name_of(size, item.head)), cell->text, found.text));
    }
  }

  void compare_with_built_in() {
    for (const auto& [size, cells] : rows_) {
      const Row* mine = size == Length() ? &edition_.rows.front() : row_of(edition_, size);
      const Row* theirs = size == Length() ? &nearest_->rows.front() : row_of(*nearest_, size);
      if (theirs == nullptr) {
        if (!accept(size, "nominal"))
          add(size, "nominal", "size", cells.begin()->second.where, to_text(size, Unit::micrometre), "a size that it has");
        continue;
      }
      for (const auto& [item, cell] : cells) {
        const SheetItem& column = k_sheet_items[item];
        const auto copied = values_named(edition_, *mine, column.name);
        const auto known = values_named(*nearest_, *theirs, column.name);
        if (copied == known || column.name == "maximum_individual" || accept(size, column.name)) continue;
        if (!told_.emplace(size, column.name).second) continue;
        add(size, column.name, column.head, cell.where, fmt::format("{}", fmt::join(copied, ", ")),
            known.empty() ? "none" : fmt::format("{}", fmt::join(known, ", ")));
      }
    }
  }

  void add(Length size, std::string_view value, std::string_view head, const Where& where, std::string found,
           const std::string& known) {
    errors_.push_back(finding(where, fmt::format("{} ({}) differs from the built-in table", name_of(size, head), value),
                              std::move(found), fmt::format("{}, as {} has it", known, nearest_->name)));
  }

  const Edition& edition_;
  const CopiedRows& rows_;
  const std::vector<Accepted>& accepted_;
  std::vector<bool> used_;
  const Edition* nearest_;
  std::set<std::pair<Length, std::string>> told_;
  Errors errors_;
};

}  // namespace

const Edition* nearest_edition(std::string_view standard) {
  const Edition* nearest = nullptr;  // editions of a standard are in the order of their years
  for (const Edition* edition : built_in_editions()) {
    if (edition->name == standard) return edition;
    if (parts_of(edition->name).first == parts_of(standard).first) nearest = edition;
  }
  return nearest;
}

Result<std::vector<Accepted>> read_accepted(std::string_view yaml, const std::string& file) {
  const Result<YamlNode> root = parse_yaml(yaml, file);
  if (!root.ok()) return root.errors();
  Complaints complaints(file);
  std::vector<Accepted> accepted;
  const YamlMapping map(&*root, "the file", {{"schema", "accepted"}, {}}, complaints);
  yaml_choice(map["schema"], std::to_array<std::string_view>({"sievecloth-accepted/1"}), complaints);
  for (const YamlNode& item : yaml_items(map["accepted"], complaints)) {
    const YamlMapping entry(&item, "an accepted finding", {{"value", "printed", "reason"}, {"size"}}, complaints);
    const auto value = yaml_choice(entry["value"], k_value_names, complaints);
    accepted.push_back({yaml_length(entry["size"], Unit::micrometre, complaints).value_or(Length()),
                        std::string(value ? k_value_names[*value] : std::string_view()),
                        yaml_text(yaml_quoted(entry["printed"], complaints), complaints).value_or(""),
                        yaml_text(entry["reason"], complaints).value_or(""),
                        {file, item.mark.line, item.mark.column}});
  }
  if (!complaints.none()) return complaints.take();
  return accepted;
}

Result<void> compare_copies(const CopiedRows& first, const CopiedRows& second) {
  Errors errors;
  const auto compare = [&](const CopiedRows& copy, const CopiedRows& other, bool both) {
    for (const auto& [size, cells] : copy) {
      for (const auto& [item, cell] : cells) {
        const CopiedCell* there = cell_of(other, size, item);
        if (there != nullptr && (!both || there->text == cell.text)) continue;
        errors.push_back(finding(cell.where, fmt::format("{}: the copies differ", name_of(size, k_sheet_items[item].head)),
                                 cell.text,
                                 there == nullptr ? "an empty cell, as in the other sheet"
                                                  : fmt::format("'{}', as in {}", there->text, place(there->where))));
      }
    }
  };
  compare(first, second, true);
  compare(second, first, false);
  if (!errors.empty()) return errors;
  return {};
}

Result<std::string> make_table(const Transcription& transcription, const CopiedRows& rows, const std::vector<Accepted>& accepted) {
  TableWriter writer(transcription, rows, accepted);
  std::string yaml = writer.write();
  if (!writer.errors().empty()) return writer.errors();
  const std::string file = "the table";
  const Result<TableFile> table = read_table(yaml, file, Overlay{built_in_editions(), ""});
  if (!table.ok()) {
    Errors errors = table.errors();
    for (Error& error : errors) error.where = writer.where_of(error.where.line);
    return errors;
  }
  Errors findings = Findings(table->edition(), rows, accepted, nearest_edition(transcription.standard)).find();
  if (!findings.empty()) return findings;
  return sealed(std::move(yaml));
}

}  // namespace sievecloth::tool
