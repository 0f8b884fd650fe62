#include "sievecloth/table_file.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <deque>
#include <map>
#include <vector>

#include "base/text.hpp"
#include "sievecloth/plausibility.hpp"
#include "standards/row_values.hpp"
#include "standards/size_text.hpp"
#include "yaml/yaml_file.hpp"

namespace sievecloth {

struct TableFile::Storage {
  std::deque<std::string> texts;  // with stable addresses
  std::vector<Row> rows;
  std::vector<Source> sources;
  std::vector<Erratum> errata;
  std::vector<ImplausibleValue> doubts;
  std::deque<std::vector<Length>> sizes;  // of the errata
  Edition edition;

  std::string_view keep(std::string text) { return texts.emplace_back(std::move(text)); }
};

const Edition& TableFile::edition() const noexcept { return storage_->edition; }

namespace {

constexpr auto k_provenances =
    std::to_array<std::string_view>({"seen", "confirmed", "second-hand", "computed", "inferred", "doubtful", "memory"});
constexpr auto k_grade_names = std::to_array<std::string_view>({"compliance", "inspection", "calibration"});
constexpr auto k_count_scales = std::to_array<std::string_view>({"fixed", "sieving_area", "area_of_cloth"});
constexpr std::string_view k_own_table_set = "own table";
constexpr std::string_view k_owners_mark = " (owner's table)";
constexpr std::string_view k_as_printed = "as printed";
constexpr std::int64_t k_most_apertures = 1'000'000'000;

struct SourceList {
  std::string table_set{k_own_table_set};
  std::vector<std::pair<std::string, std::string>> titles;  // id and title
};

/// Reads `sources:` in an owner's table, or in the file shared by all tables of a set.
void read_source_list(const YamlNode* list, SourceList& sources, Complaints& complaints) {
  for (const YamlNode& item : yaml_items(list, complaints)) {
    const YamlMapping map(&item, "a source", {.required = {"id", "title"}, .optional = {}}, complaints);
    const auto id = yaml_text(map["id"], complaints);
    const auto title = yaml_text(map["title"], complaints);
    if (!id || !title) continue;
    const bool twice =
        std::any_of(sources.titles.begin(), sources.titles.end(), [&](const auto& known) { return known.first == *id; });
    if (twice) {
      complaints.add(ErrorCode::duplicate_key, map["id"]->mark.line, map["id"]->mark.column, "source listed twice", *id);
    } else if (sources.titles.size() == 255) {
      complaints.add(ErrorCode::wrong_value, item.mark.line, item.mark.column, "more than 255 sources");
      return;
    } else {
      sources.titles.emplace_back(*id, *title);
    }
  }
}

void require_schema(const YamlNode* node, std::string_view schema, Complaints& complaints) {
  yaml_choice(node, std::array{schema}, complaints);
}

Result<SourceList> read_shared_sources(std::string_view text) {
  const std::string file = "sources.yaml";
  Result<YamlNode> root = parse_yaml(text, file);
  if (!root) return root.errors();
  Complaints complaints(file);
  SourceList sources;
  const YamlMapping map(&*root, "the file", {.required = {"schema", "table_set", "sources"}, .optional = {}}, complaints);
  require_schema(map["schema"], "sievecloth-sources/1", complaints);
  if (auto table_set = yaml_text(map["table_set"], complaints)) sources.table_set = std::move(*table_set);
  read_source_list(map["sources"], sources, complaints);
  if (!complaints.none()) return complaints.take();
  return sources;
}

/// Reads one table. A basis is looked up from the inside out: in the value, its group, the row, the defaults of the column, the
/// defaults of all rows.
class TableReader {
 public:
  TableReader(SourceList sources, bool own_sources, const Overlay* overlay, Complaints& complaints)
      : storage_(std::make_shared<TableFile::Storage>()),
        sources_(std::move(sources)),
        own_sources_(own_sources),
        overlay_(overlay),
        complaints_(complaints) {}

  std::shared_ptr<const TableFile::Storage> read(const YamlNode& root) {
    YamlKeys keys{{"schema", "standard", "edition", "title", "unit", "rests_on", "defaults", "rules", "rows"}, {"errata"}};
    if (own_sources_) keys.required.push_back("sources");
    if (overlay_ != nullptr) keys.optional.push_back("transcribed");
    const YamlMapping map(&root, "the file", keys, complaints_);
    require_schema(map["schema"], "sievecloth-table/1", complaints_);
    yaml_choice(map["unit"], std::to_array<std::string_view>({"um"}), complaints_);
    if (own_sources_) read_source_list(map["sources"], sources_, complaints_);
    read_names(map);
    if (map["transcribed"] != nullptr) read_transcribed(map["transcribed"]);
    read_defaults(map["defaults"]);
    read_rules(map["rules"]);
    read_rows(map["rows"]);
    if (base_ != nullptr) add_rows_of_base();
    read_errata(map["errata"]);
    if (base_ != nullptr) add_errata_of_base();
    if (complaints_.none()) finish();
    return storage_;
  }

 private:
  void complain(ErrorCode code, YamlMark at, std::string message, std::string_view found = {}, std::string expected = {}) {
    complaints_.add(code, at.line, at.column, std::move(message), found, std::move(expected));
  }

  std::string_view kept_text(const YamlNode* node) {
    auto text = yaml_text(node, complaints_);
    return text ? storage_->keep(std::move(*text)) : std::string_view();
  }

  // ---- names

  std::string name_part(const YamlNode* node) {
    const auto text = yaml_text(node, complaints_);
    const auto allowed = [](char c) { return is_digit(c) || (c >= 'a' && c <= 'z') || c == '-' || c == '.'; };
    if (!text) return {};
    if (std::all_of(text->begin(), text->end(), allowed)) return *text;
    complain(ErrorCode::wrong_value, node->mark, "not a part of a name", *text, "small letters, digits, '-' and '.'");
    return {};
  }

  void read_names(const YamlMapping& map) {
    Edition& edition = storage_->edition;
    edition.name = storage_->keep(name_part(map["standard"]) + "-" + name_part(map["edition"]));
    edition.title = kept_text(map["title"]);
    if (own_sources_) edition.title = storage_->keep(fmt::format("{}{}", edition.title, k_owners_mark));
    edition.rests_on = kept_text(map["rests_on"]);
    edition.table_set = storage_->keep(sources_.table_set);
  }

  // ---- what two people copied from the standard lies over the edition of its name

  void read_transcribed(const YamlNode* node) {
    const YamlMapping map(node, "transcribed", {{"copy", "by", "verified_by", "date"}, {}}, complaints_);
    Edition& edition = storage_->edition;
    edition.transcribed = true;
    edition.title = edition.title.substr(0, edition.title.rfind(k_owners_mark));
    edition.table_set = storage_->keep(fmt::format("transcribed from {} by {}, verified by {}, {}; SHA-256 {}",
                                                   kept_text(map["copy"]), kept_text(map["by"]), kept_text(map["verified_by"]),
                                                   yaml_date(map["date"], complaints_).value_or(""), overlay_->digest));
    const auto& editions = overlay_->editions;
    const auto base =
        std::find_if(editions.begin(), editions.end(), [&](const Edition* known) { return known->name == edition.name; });
    if (base == editions.end()) return;
    base_ = *base;
    edition.title = base_->title;
    if (base_->transcribed) edition.table_set = storage_->keep(fmt::format("{}; {}", edition.table_set, base_->table_set));
    edition.rules = base_->rules;
    for (Basis* basis : bases_of(edition.rules)) shift(*basis);
    for (const Row& row : base_->rows) {
      has_spread_rule_ = has_spread_rule_ || row.standard_deviation_limit[Grade::compliance];
      has_count_scale_ = has_count_scale_ || row.counts[Grade::compliance];
    }
  }

  /// The base's sources follow the table's own.
  void shift(Basis& basis) const { basis.source = static_cast<std::uint8_t>(basis.source + sources_.titles.size()); }

  static std::vector<Basis*> bases_of(Rules& rules) {
    std::vector<Basis*> bases{&rules.spread.basis, &rules.counts.basis, &rules.wire_count.basis};
    if (rules.share) bases.push_back(&rules.share->basis);
    if (rules.resolution) bases.push_back(&rules.resolution->basis);
    return bases;
  }

  static std::vector<Basis*> bases_of(Row& row) {
    WireRange& wire = row.wire;
    std::vector<Basis*> bases{&row.average_tolerance.basis, &row.maximum_tolerance.basis, &wire.preferred.basis,
                              &wire.minimum.basis, &wire.maximum.basis};
    if (row.intermediate_limit) bases.push_back(&row.intermediate_limit->basis);
    for (const Grade grade : k_grades) {
      if (auto& limit = row.standard_deviation_limit[grade]) bases.push_back(&limit->basis);
      if (auto& count = row.counts[grade]) bases.push_back(&count->basis);
    }
    return bases;
  }

  std::optional<Row> row_of_base(Length nominal) const {
    if (base_ == nullptr) return std::nullopt;
    const auto found = std::find_if(base_->rows.begin(), base_->rows.end(), [&](const Row& row) { return row.nominal == nominal; });
    if (found == base_->rows.end()) return std::nullopt;
    Row row = *found;
    for (Basis* basis : bases_of(row)) shift(*basis);
    return row;
  }

  void add_rows_of_base() {
    std::vector<Row>& rows = storage_->rows;
    for (const Row& row : base_->rows) {
      if (!copied_.contains(row.nominal)) rows.push_back(*row_of_base(row.nominal));
    }
    std::sort(rows.begin(), rows.end(), [](const Row& a, const Row& b) { return a.nominal > b.nominal; });
  }

  /// An erratum speaks of the source that the base was taken from: where the standard itself was copied, it falls away.
  void add_errata_of_base() {
    for (Erratum erratum : base_->errata) {
      std::vector<Length>& sizes = storage_->sizes.emplace_back();
      for (const Length size : erratum.sizes) {
        if (!is_copied(size, erratum.value)) sizes.push_back(size);
      }
      erratum.sizes = sizes;
      if (!sizes.empty()) storage_->errata.push_back(erratum);
    }
  }

  bool is_copied(Length nominal, std::string_view value) const {
    const auto found = copied_.find(nominal);
    const YamlNode* node = found == copied_.end() ? nullptr : found->second;
    while (node != nullptr && node->kind == YamlNode::Kind::mapping && !value.empty()) {
      const std::string_view key = value.substr(0, value.find('.'));
      value.remove_prefix(std::min(key.size() + 1, value.size()));
      const auto child =
          std::find_if(node->children.begin(), node->children.end(), [&](const YamlNode& inner) { return inner.key == key; });
      node = child == node->children.end() ? nullptr : &*child;
    }
    return node != nullptr;
  }

  // ---- where a value comes from

  std::optional<std::uint8_t> read_source(const YamlNode* node) {
    const auto id = yaml_text(node, complaints_);
    if (!id) return std::nullopt;
    const auto& titles = sources_.titles;
    const auto found = std::find_if(titles.begin(), titles.end(), [&](const auto& source) { return source.first == *id; });
    if (found != titles.end()) return static_cast<std::uint8_t>(found - titles.begin());
    complain(ErrorCode::wrong_value, node->mark, "a source that is not listed", *id);
    return std::nullopt;
  }

  std::optional<Basis> read_basis(const YamlMapping& map, std::optional<Basis> fallback) {
    const YamlNode* provenance = map["provenance"];
    const YamlNode* source = map["source"];
    if ((provenance == nullptr) != (source == nullptr)) {
      complain(ErrorCode::key_missing, map.mark(), "provenance and source come together");
      return fallback;
    }
    if (provenance == nullptr) return fallback;
    const auto word = yaml_choice(provenance, k_provenances, complaints_);
    const auto index = read_source(source);
    return word && index ? Basis{counted_as(static_cast<Provenance>(*word)), *index} : fallback;
  }

  /// An owner's table has been compared with the standard by its owner only, unless two people copied it.
  Provenance counted_as(Provenance provenance) const {
    return own_sources_ && !storage_->edition.transcribed && is_verified(provenance) ? Provenance::second_hand : provenance;
  }

  void read_defaults(const YamlNode* node) {
    static const std::vector<std::string_view> columns{
        "average_tolerance", "maximum_tolerance", "intermediate_limit", "standard_deviation_limit", "counts", "wire"};
    const YamlMapping map(node, "defaults", {{"rows"}, columns}, complaints_);
    const auto read = [&](std::string_view key) {
      return read_basis(YamlMapping(map[key], "a default", {{"provenance", "source"}, {}}, complaints_), std::nullopt);
    };
    default_basis_ = read("rows");
    for (const std::string_view column : columns) {
      if (const auto basis = read(column)) column_basis_[column] = *basis;
    }
  }

  /// The basis of values of `column` in a row whose own basis is `row_basis`.
  Basis column_basis(std::string_view column, std::optional<Basis> row_basis) const {
    if (row_basis) return *row_basis;
    const auto found = column_basis_.find(column);
    return found != column_basis_.end() ? found->second : default_basis_.value_or(Basis{});
  }

  // ---- values: "75", or {value: "75", provenance: ..., source: ...}

  struct ValueNode {
    const YamlNode* node = nullptr;
    Basis basis;
  };

  ValueNode value_node(const YamlNode* node, Basis fallback) {
    if (node == nullptr || node->kind != YamlNode::Kind::mapping) return {node, fallback};
    const YamlMapping map(node, "a value", {{"value"}, {"provenance", "source"}}, complaints_);
    return {map["value"], *read_basis(map, fallback)};
  }

  std::optional<Limit> read_limit(const YamlNode* node, Basis fallback) {
    const ValueNode value = value_node(node, fallback);
    const auto length = yaml_length(value.node, Unit::micrometre, complaints_);
    if (!length) return std::nullopt;
    if (length->pm() > 0) return Limit{*length, value.basis};
    // NOLINTNEXTLINE(clang-analyzer-core.NonNullParamChecker): without a node there is no length
    complain(ErrorCode::wrong_value, value.node->mark, "not above 0", value.node->text);
    return std::nullopt;
  }

  std::optional<Count> read_count(const YamlNode* node, Basis fallback) {
    const ValueNode value = value_node(node, fallback);
    const YamlNode* quoted = yaml_quoted(value.node, complaints_);
    if (quoted != nullptr && quoted->text == "all") return Count{k_all, value.basis};
    const auto count = yaml_integer(quoted, 1, k_most_apertures, complaints_);
    return count ? std::optional(Count{*count, value.basis}) : std::nullopt;
  }

  /// Reads one value for all grades, or a mapping from grades to values.
  template <class T>
  PerGrade<std::optional<T>> read_per_grade(const YamlNode* node, std::string_view what, Basis fallback,
                                            std::optional<T> (TableReader::*read_one)(const YamlNode*, Basis)) {
    PerGrade<std::optional<T>> values;
    const bool one = node == nullptr || node->kind != YamlNode::Kind::mapping || has_child(*node, "value");
    if (one) {
      values.values.fill((this->*read_one)(node, fallback));
      return values;
    }
    if (!storage_->edition.rules.graded)
      complain(ErrorCode::wrong_type, node->mark, "values by grade in an edition without grades");
    const YamlMapping map(node, what, {{}, {"compliance", "inspection", "calibration", "provenance", "source"}}, complaints_);
    const Basis basis = *read_basis(map, fallback);
    for (const Grade grade : k_grades) values[grade] = (this->*read_one)(map[to_text(grade)], basis);
    return values;
  }

  static bool has_child(const YamlNode& node, std::string_view key) {
    return std::any_of(node.children.begin(), node.children.end(), [&](const YamlNode& child) { return child.key == key; });
  }

  // ---- rules

  void read_rules(const YamlNode* node) {
    YamlKeys keys{{"graded", "wire_count"}, {"spread", "share", "resolution", "count_scale"}};
    if (base_ != nullptr) make_optional(keys);
    const YamlMapping map(node, "rules", keys, complaints_);
    Rules& rules = storage_->edition.rules;
    rules.graded = yaml_bool(map["graded"], complaints_).value_or(rules.graded);
    if (map["spread"] != nullptr) read_spread(map["spread"]);
    if (map["share"] != nullptr) read_share(map["share"]);
    if (map["resolution"] != nullptr) read_resolution(map["resolution"]);
    if (map["count_scale"] != nullptr) read_count_scale(map["count_scale"]);
    has_spread_rule_ = has_spread_rule_ || map["spread"] != nullptr;
    has_count_scale_ = has_count_scale_ || map["count_scale"] != nullptr;
    if (map["wire_count"] == nullptr) return;
    const YamlMapping count(map["wire_count"], "wire_count", {{"value", "provenance", "source"}, {}}, complaints_);
    rules.wire_count.value = yaml_integer(yaml_quoted(count["value"], complaints_), 1, k_most_apertures, complaints_).value_or(1);
    rules.wire_count.basis = read_basis(count, Basis{}).value();
  }

  /// What is not copied keeps the value of the base.
  static void make_optional(YamlKeys& keys) {
    keys.optional.insert(keys.optional.end(), keys.required.begin(), keys.required.end());
    keys.required.clear();
  }

  void read_spread(const YamlNode* node) {
    SpreadRule& rule = storage_->edition.rules.spread = SpreadRule{};
    const YamlMapping map(node, "spread", {{"factor", "provenance", "source"}, {"settled", "tail"}}, complaints_);
    rule.factor = yaml_bool(map["factor"], complaints_).value_or(false);
    rule.basis = read_basis(map, Basis{}).value();
    if (rule.factor != (map["settled"] != nullptr && map["tail"] != nullptr)) {
      complain(ErrorCode::wrong_value, map.mark(), "settled and tail belong to a factor, and a factor needs both");
    }
    if (map["settled"] != nullptr) rule.settled = yaml_bool(map["settled"], complaints_).value_or(true);
    if (map["tail"] != nullptr) read_tail(map["tail"], rule);
  }

  void read_tail(const YamlNode* node, SpreadRule& rule) {
    const YamlMapping map(node, "tail", {{k_grade_names.begin(), k_grade_names.end()}, {}}, complaints_);
    for (const Grade grade : k_grades) {
      const YamlNode* tail = map[to_text(grade)];
      // A decimal times a million is the number of pm of that length in um.
      const auto millionths = yaml_length(tail, Unit::micrometre, complaints_);
      if (!millionths) continue;
      if (millionths->pm() < 1 || millionths->pm() > 500'000) {
        complain(ErrorCode::wrong_value, tail->mark, "not a lower tail", tail->text, "0.000001 to 0.5");
      } else {
        rule.tail_millionths[grade] = static_cast<std::int32_t>(millionths->pm());
      }
    }
  }

  void read_share(const YamlNode* node) {
    const YamlMapping map(node, "share", {{"percent", "provenance", "source"}, {}}, complaints_);
    const auto percent = yaml_integer(yaml_quoted(map["percent"], complaints_), 1, 99, complaints_);
    storage_->edition.rules.share = ShareRule{static_cast<std::int32_t>(percent.value_or(1)), read_basis(map, Basis{}).value()};
  }

  void read_resolution(const YamlNode* node) {
    const YamlMapping map(node, "resolution", {{"floor", "fraction_of_average", "provenance", "source"}, {}}, complaints_);
    const Basis basis = read_basis(map, Basis{}).value();
    const auto floor = read_limit(map["floor"], basis);
    const auto fraction = yaml_integer(yaml_quoted(map["fraction_of_average"], complaints_), 1, 1000, complaints_);
    storage_->edition.rules.resolution =
        ResolutionRule{floor ? floor->value : Length(), static_cast<std::int32_t>(fraction.value_or(1)), basis};
  }

  void read_count_scale(const YamlNode* node) {
    ScaleRule& rule = storage_->edition.rules.counts;
    YamlKeys keys{{k_grade_names.begin(), k_grade_names.end()}, {}};
    keys.required.insert(keys.required.end(), {"provenance", "source"});
    const YamlMapping map(node, "count_scale", keys, complaints_);
    for (const Grade grade : k_grades) {
      const auto scale = yaml_choice(map[to_text(grade)], k_count_scales, complaints_);
      rule.scale[grade] = static_cast<CountScale>(scale.value_or(0));
    }
    rule.basis = read_basis(map, Basis{}).value();
  }

  // ---- rows

  void read_rows(const YamlNode* node) {
    const auto items = yaml_items(node, complaints_);
    if (base_ == nullptr && node != nullptr && node->kind == YamlNode::Kind::sequence && items.empty()) {
      complain(ErrorCode::key_missing, node->mark, "a table without rows");
    }
    for (const YamlNode& item : items) read_row(item);
  }

  void read_row(const YamlNode& node) {
    YamlKeys keys{
        {"nominal", "average_tolerance", "maximum_tolerance", "wire"},
        {"alternative", "maximum_individual", "intermediate_limit", "standard_deviation_limit", "counts", "provenance", "source"}};
    const std::optional<Row> base = row_of_base(nominal_in(node));
    if (base) make_optional(keys);
    const YamlMapping map(&node, "a row", keys, complaints_);
    const auto row_basis = read_basis(map, std::nullopt);
    const auto basis = [&](std::string_view column) { return column_basis(column, row_basis); };
    const auto limit = [&](std::string_view column) { return read_limit(map[column], basis(column)); };

    Row row = base.value_or(Row{});
    row.nominal = read_nominal(map["nominal"]);
    row.designation = to_text(row.nominal);
    if (map["alternative"] != nullptr) row.alternative = read_alternative(map["alternative"]);
    row.average_tolerance = limit("average_tolerance").value_or(row.average_tolerance);
    row.maximum_tolerance = limit("maximum_tolerance").value_or(row.maximum_tolerance);
    if (const auto intermediate = limit("intermediate_limit")) row.intermediate_limit = intermediate;
    const auto deviations = read_per_grade(map["standard_deviation_limit"], "standard_deviation_limit",
                                           basis("standard_deviation_limit"), &TableReader::read_limit);
    const auto counts = read_per_grade(map["counts"], "counts", basis("counts"), &TableReader::read_count);
    for (const Grade grade : k_grades) {
      if (deviations[grade]) row.standard_deviation_limit[grade] = deviations[grade];
      if (counts[grade]) row.counts[grade] = counts[grade];
    }
    read_wire(map["wire"], basis("wire"), row.wire);
    const bool complete = row.average_tolerance.value.pm() > 0 && row.maximum_tolerance.value.pm() > 0;
    if (complete && row.nominal.pm() > 0) check_apertures(map, row);
    check_against_rules(map, row);
    storage_->rows.push_back(row);
    copied_[row.nominal] = &node;
  }

  /// The nominal aperture, if the row has one that can be read; what is wrong with it is said elsewhere.
  static Length nominal_in(const YamlNode& row) {
    for (const YamlNode& child : row.children) {
      if (child.key != "nominal") continue;
      const Result<Length> nominal = parse_length(child.text, Unit::micrometre);
      return nominal.ok() ? *nominal : Length();
    }
    return {};
  }

  Length read_nominal(const YamlNode* node) {
    const auto nominal = read_limit(node, Basis{});
    if (!nominal) return {};
    const std::vector<Row>& rows = storage_->rows;
    if (!rows.empty() && rows.back().nominal.pm() > 0 && nominal->value >= rows.back().nominal) {
      complain(ErrorCode::rows_out_of_order, node->mark, "rows out of order", node->text,
               "a size below " + to_text(rows.back().nominal, Unit::micrometre));
    }
    return nominal->value;
  }

  Designation read_alternative(const YamlNode* node) {
    const std::string text = yaml_text(node, complaints_).value_or("");
    if (text.empty()) return {};
    const Result<SizeText> size = parse_size(text);
    if (!size || !size->is_alternative()) {
      complain(ErrorCode::wrong_value, node->mark, "not an alternative designation", text, "such as No. 200 or 3/8 in.");
      return {};
    }
    if (text.size() > Designation::k_longest) {
      complain(ErrorCode::wrong_value, node->mark, "too long an alternative designation", text,
               fmt::format("up to {} bytes", Designation::k_longest));
      return {};
    }
    for (const Row& row : storage_->rows) {
      if (row.alternative.empty()) continue;
      const SizeText other = parse_size(row.alternative).value();
      if (other.kind == size->kind && other.value == size->value) {
        complain(ErrorCode::wrong_value, node->mark, fmt::format("alternative designation of {} again", row.designation), text);
      }
    }
    return text;
  }

  void read_wire(const YamlNode* node, Basis fallback, WireRange& wire) {
    YamlKeys keys{{"preferred", "minimum", "maximum"}, {"provenance", "source"}};
    if (wire.preferred.value.pm() > 0) make_optional(keys);
    const YamlMapping map(node, "wire", keys, complaints_);
    const Basis basis = *read_basis(map, fallback);
    wire.preferred = read_limit(map["preferred"], basis).value_or(wire.preferred);
    wire.minimum = read_limit(map["minimum"], basis).value_or(wire.minimum);
    wire.maximum = read_limit(map["maximum"], basis).value_or(wire.maximum);
    const bool complete = wire.preferred.value.pm() > 0 && wire.minimum.value.pm() > 0 && wire.maximum.value.pm() > 0;
    if (!complete || (wire.minimum.value <= wire.preferred.value && wire.preferred.value <= wire.maximum.value)) return;
    complain(ErrorCode::wrong_value, map.mark(), "a wire range that does not hold its preferred diameter");
  }

  void check_apertures(const YamlMapping& map, const Row& row) {
    if (row.smallest_mean().pm() <= 0) complain(ErrorCode::wrong_value, map.mark(), "average_tolerance as large as the aperture");
    if (row.maximum_tolerance.value < row.average_tolerance.value) {
      complain(ErrorCode::wrong_value, map.mark(), "maximum_tolerance below average_tolerance");
      return;
    }
    const auto& intermediate = row.intermediate_limit;
    if (intermediate && (intermediate->value < row.largest_mean() || intermediate->value > row.largest_aperture())) {
      complain(ErrorCode::wrong_value, map["intermediate_limit"]->mark, "intermediate_limit out of range",
               to_text(intermediate->value, Unit::micrometre),
               fmt::format("an aperture from {} to {}", to_text(row.largest_mean(), Unit::micrometre),
                           to_text(row.largest_aperture(), Unit::micrometre)));
    }
    const auto individual = yaml_length(map["maximum_individual"], Unit::micrometre, complaints_);
    if (individual && *individual != row.largest_aperture()) {
      complain(ErrorCode::wrong_value, map["maximum_individual"]->mark, "maximum_individual is not nominal + maximum_tolerance",
               map["maximum_individual"]->text, to_text(row.largest_aperture(), Unit::micrometre));
    }
  }

  /// A limit without its rule cannot be judged, and a rule without its limit has no effect.
  void check_against_rules(const YamlMapping& map, const Row& row) {
    const auto check = [&](std::string_view column, bool has_rule, std::string_view rule) {
      if (map[column] != nullptr && !has_rule) {
        complain(ErrorCode::key_missing, map[column]->mark, fmt::format("{} without the rule '{}'", column, rule));
      }
    };
    check("intermediate_limit", storage_->edition.rules.share.has_value(), "share");
    check("standard_deviation_limit", has_spread_rule_, "spread");
    check("counts", has_count_scale_, "count_scale");
    if (storage_->edition.rules.share && !row.intermediate_limit && map["intermediate_limit"] == nullptr) {
      complain(ErrorCode::key_missing, map.mark(), "a row lacks the key 'intermediate_limit', which the rule 'share' needs");
    }
  }

  // ---- errata

  void read_errata(const YamlNode* node) {
    for (const YamlNode& item : yaml_items(node, complaints_)) {
      const YamlMapping map(&item, "an erratum", {{"sizes", "value", "date", "used", "reason"}, {"printed"}}, complaints_);
      Erratum erratum;
      erratum.value = read_value_name(map["value"]);
      const std::vector<std::size_t> rows = read_sizes(map["sizes"]);
      std::vector<Length>& sizes = storage_->sizes.emplace_back();
      for (const std::size_t row : rows) sizes.push_back(storage_->rows[row].nominal);
      erratum.sizes = sizes;
      erratum.where = storage_->keep(fmt::format("{}, {}", sizes_text(rows), erratum.value));
      erratum.date = storage_->keep(yaml_date(map["date"], complaints_).value_or(""));
      erratum.printed = kept_text(map["printed"]);
      erratum.used = kept_text(map["used"]);
      erratum.reason = kept_text(map["reason"]);
      check_used(map, erratum, rows);
      storage_->errata.push_back(erratum);
    }
  }

  /// The `used` value of an erratum must be that of the table, or it would explain a correction that was never made.
  void check_used(const YamlMapping& map, const Erratum& erratum, const std::vector<std::size_t>& rows) {
    const bool as_printed = erratum.used == k_as_printed;
    const YamlNode* node = map[as_printed ? "printed" : "used"];
    if (node == nullptr) {
      if (as_printed) complain(ErrorCode::key_missing, map.mark(), "used as printed, but not what is printed");
      return;
    }
    const std::vector<std::string> numbers = numbers_in(node->text);
    std::vector<std::string> in_table;
    bool same = numbers.size() == 1 || numbers.size() == rows.size();
    for (std::size_t i = 0; i < rows.size(); ++i) {
      const std::vector<std::string> values = values_named(storage_->edition, storage_->rows[rows[i]], erratum.value);
      const bool one = values.size() == 1;
      in_table.push_back(one ? values.front() : fmt::format("({})", fmt::join(values, "; ")));
      same = same && one && values.front() == numbers[numbers.size() == 1 ? 0 : i];
    }
    if (same || rows.empty() || erratum.value.empty()) return;
    complain(ErrorCode::wrong_value, node->mark, "an erratum that the table does not follow", node->text,
             fmt::format("the table's own {}", fmt::join(in_table, ", ")));
  }

  /// Splits `27, 24.0` into `27` and `24`; anything that is not a number stays unchanged.
  static std::vector<std::string> numbers_in(std::string_view text) {
    std::vector<std::string> numbers;
    while (true) {
      const std::size_t comma = std::min(text.find(','), text.size());
      const std::string_view part = trimmed(text.substr(0, comma));
      const Result<Length> length = parse_length(part, Unit::micrometre);
      numbers.push_back(length.ok() ? to_text(*length, Unit::micrometre) : std::string(part));
      if (comma == text.size()) return numbers;
      text.remove_prefix(comma + 1);
    }
  }

  std::string_view read_value_name(const YamlNode* node) {
    const auto value = yaml_choice(node, k_value_names, complaints_);
    return value ? k_value_names[*value] : std::string_view();
  }

  /// Indices of the rows.
  std::vector<std::size_t> read_sizes(const YamlNode* node) {
    std::vector<std::size_t> rows;
    for (const YamlNode& size : yaml_items(node, complaints_)) {
      if (const auto row = row_of(size)) rows.push_back(*row);
    }
    if (node != nullptr && node->children.empty()) complain(ErrorCode::key_missing, node->mark, "no sizes");
    return rows;
  }

  std::optional<std::size_t> row_of(const YamlNode& size) {
    const auto nominal = yaml_length(&size, Unit::micrometre, complaints_);
    const std::vector<Row>& rows = storage_->rows;
    const auto found = std::find_if(rows.begin(), rows.end(), [&](const Row& row) { return row.nominal == nominal; });
    if (nominal && found != rows.end()) return static_cast<std::size_t>(found - rows.begin());
    if (nominal) complain(ErrorCode::wrong_value, size.mark, "a size that no row has", size.text);
    return std::nullopt;
  }

  /// `19 mm, 16 mm`; three or more consecutive rows as `53 um to 20 um`.
  std::string sizes_text(const std::vector<std::size_t>& rows) const {
    std::string text;
    for (std::size_t i = 0; i < rows.size();) {
      std::size_t last = i;
      while (last + 1 < rows.size() && rows[last + 1] == rows[last] + 1) ++last;
      const bool range = last >= i + 2;
      if (!range) last = i;
      if (!text.empty()) text += ", ";
      text += storage_->rows[rows[i]].designation;
      if (range) text += fmt::format(" to {}", storage_->rows[rows[last]].designation);
      i = last + 1;
    }
    return text;
  }

  // ---- the whole

  void finish() {
    for (const auto& [id, title] : sources_.titles) {
      const std::string_view kept_id = storage_->keep(id);
      storage_->sources.push_back({kept_id, storage_->keep(title)});
    }
    if (base_ != nullptr) storage_->sources.insert(storage_->sources.end(), base_->sources.begin(), base_->sources.end());
    storage_->edition.rows = storage_->rows;
    storage_->edition.sources = storage_->sources;
    storage_->edition.errata = storage_->errata;
    if (own_sources_) find_doubts();
  }

  void find_doubts() {
    for (Implausibility& found : find_implausible(storage_->edition)) {
      if (found.explained) continue;
      const std::string_view value = storage_->keep(std::move(found.value));
      storage_->doubts.push_back({found.row->nominal, value, storage_->keep(std::move(found.text))});
    }
    storage_->edition.doubts = storage_->doubts;
  }

  std::shared_ptr<TableFile::Storage> storage_;
  SourceList sources_;
  bool own_sources_;
  const Overlay* overlay_;                    // null if no transcription can be among the tables
  const Edition* base_ = nullptr;             // the edition that a transcription lies over
  std::map<Length, const YamlNode*> copied_;  // rows of the file
  Complaints& complaints_;
  std::optional<Basis> default_basis_;
  std::map<std::string_view, Basis> column_basis_;
  bool has_spread_rule_ = false;
  bool has_count_scale_ = false;
};

Result<TableFile> read(std::string_view yaml, const std::string& file, std::string_view sources, const Overlay* overlay) {
  SourceList shared;
  if (!sources.empty()) {
    Result<SourceList> list = read_shared_sources(sources);
    if (!list) return list.errors();
    shared = std::move(*list);
  }
  Result<YamlNode> root = parse_yaml(yaml, file);
  if (!root) return root.errors();
  Complaints complaints(file);
  TableReader reader(std::move(shared), sources.empty(), overlay, complaints);
  auto storage = reader.read(*root);
  if (!complaints.none()) return complaints.take();
  return TableFile(std::move(storage));
}

}  // namespace

Result<TableFile> read_table(std::string_view yaml, const std::string& file, std::string_view sources) {
  return read(yaml, file, sources, nullptr);
}

Result<TableFile> read_table(std::string_view yaml, const std::string& file, const Overlay& overlay) {
  return read(yaml, file, {}, &overlay);
}

}  // namespace sievecloth
