#include "sievecloth/job_file.hpp"

#include <array>
#include <map>

#include <fmt/format.h>

#include "yaml/budget_lines.hpp"
#include "yaml/stated_uncertainty.hpp"
#include "yaml/yaml_file.hpp"

namespace sievecloth {
namespace {

constexpr std::size_t k_most_files = 500;  // of readings; all are open at once

class JobReader {
 public:
  JobReader(std::string_view yaml, const std::string& file) : yaml_(yaml), file_(file), complaints_(file) {}

  Result<Job> read() {
    const Result<YamlNode> root = parse_yaml(yaml_, file_);
    if (!root.ok()) return root.errors();
    const YamlMapping job(&root.value(), "a job",
                          {{"schema", "readings"},
                           {"standard",   "size",       "grade",          "piece",          "all_apertures", "apertures_in_piece",
                            "laboratory", "measured",   "viewing",        "report",         "uncertainty",   "process",
                            "decision",   "contiguous", "measured_only",  "apertures_only", "only_seen",     "agreed_count",
                            "last_line",  "unit",       "ignore_columns", "columns",        "document",      "sampled",
                            "examined",   "corrected"}},
                          complaints_);
    constexpr auto schemas = std::to_array<std::string_view>({"sievecloth-job/1"});
    yaml_choice(job["schema"], schemas, complaints_);
    job_.standard = located(job["standard"]);
    job_.size = located(job["size"]);
    job_.grade = located(job["grade"]);
    read_piece(job["piece"]);
    read_counts(job);
    read_laboratory(job["laboratory"]);
    read_measured(job["measured"]);
    read_viewing(job["viewing"]);
    read_paper(job["report"]);
    read_document(job["document"]);
    read_sampled(job["sampled"]);
    read_examined(job["examined"]);
    read_corrected(job["corrected"]);
    read_sources(job["uncertainty"]);
    read_process(job["process"]);
    read_decision(job["decision"]);
    job_.contiguous = truth(job["contiguous"]);
    job_.measured_only = truth(job["measured_only"]);
    job_.apertures_only = truth(job["apertures_only"]);
    job_.only_seen = truth(job["only_seen"]);
    read_agreed_count(job["agreed_count"]);
    job_.last_line = truth(job["last_line"]);
    job_.ignore_columns = truth(job["ignore_columns"]);
    job_.unit = unit(job["unit"]);
    read_columns(job["columns"]);
    read_readings(job["readings"]);
    compare_dates();
    if (!complaints_.none()) return complaints_.take();
    return std::move(job_);
  }

 private:
  // Without blanks around it: `R-1 ` is no other number than `R-1`.
  std::string text(const YamlNode* node) {
    const std::string written = yaml_text(node, complaints_).value_or("");
    const std::size_t first = written.find_first_not_of(' ');
    if (first != std::string::npos) return written.substr(first, written.find_last_not_of(' ') - first + 1);
    if (!written.empty())
      complaints_.add(ErrorCode::wrong_value, node->mark.line, node->mark.column, "nothing but blanks", "", "a text");
    return {};
  }
  std::string date(const YamlNode* node) { return yaml_date(node, complaints_).value_or(""); }
  // A date that others are compared with. `day` stays where it is until then.
  void read_date(std::string& day, const YamlNode* node) {
    day = date(node);
    if (!day.empty()) dates_[&day] = node->mark;
  }
  bool truth(const YamlNode* node) { return yaml_bool(node, complaints_).value_or(false); }

  std::optional<Located> located(const YamlNode* node) {
    std::optional<std::string> content = yaml_text(node, complaints_);
    if (!content) return std::nullopt;
    return Located{*std::move(content), {file_, node->mark.line, node->mark.column}};
  }

  void read_piece(const YamlNode* node) {
    const YamlMapping piece(
        node, "piece",
        {{}, {"identification", "serial", "material", "weave", "received", "condition", "frame", "roll", "heat", "state"}},
        complaints_);
    job_.piece_record.identification = text(piece["identification"]);
    job_.piece_record.serial = text(piece["serial"]);
    job_.piece_record.material = text(piece["material"]);
    job_.piece_record.weave = text(piece["weave"]);
    read_date(job_.piece_record.received, piece["received"]);
    job_.piece_record.condition = text(piece["condition"]);
    job_.piece_record.heat = text(piece["heat"]);
    constexpr auto states = std::to_array<std::string_view>({"as found", "as left"});
    if (const auto state = yaml_choice(piece["state"], states, complaints_)) job_.piece_record.state = states[*state];
    if (piece["frame"] != nullptr && piece["roll"] != nullptr) {
      complaints_.add(ErrorCode::wrong_value, piece.mark().line, piece.mark().column,
                      "a piece is a mounted sieve or cloth on a roll", "", "either frame or roll");
    }
    read_frame(piece["frame"]);
    read_roll(piece["roll"]);
  }

  void read_frame(const YamlNode* node) {
    if (node == nullptr) return;
    const YamlMapping frame(node, "frame", {{"shape"}, {"diameter", "side", "depth"}}, complaints_);
    constexpr auto shapes = std::to_array<std::string_view>({"round", "square"});
    const std::optional<std::size_t> shape = yaml_choice(frame["shape"], shapes, complaints_);
    if (yaml_length_with_unit(frame["depth"], complaints_)) job_.piece_record.frame_depth = frame["depth"]->text;
    if (!shape) return;
    const bool round = *shape == 0;
    if (frame[round ? "diameter" : "side"] == nullptr || frame[round ? "side" : "diameter"] != nullptr) {
      complaints_.add(ErrorCode::wrong_value, frame.mark().line, frame.mark().column, "the size of the frame", "",
                      "diameter for a round frame, side for a square one");
    }
    const YamlNode* const written = frame[round ? "diameter" : "side"];
    const std::optional<Length> size = yaml_length_with_unit(written, complaints_);
    if (!size) return;
    job_.piece.frame = Frame{round ? FrameShape::round : FrameShape::square, *size};
    job_.piece_record.frame_size = written->text;
  }

  void read_roll(const YamlNode* node) {
    if (node == nullptr) return;
    const YamlMapping roll(node, "roll", {{"width", "length"}, {}}, complaints_);
    const std::optional<Length> width = yaml_length_with_unit(roll["width"], complaints_);
    const std::optional<Length> length = yaml_length_with_unit(roll["length"], complaints_);
    if (width && length) job_.piece.roll = Roll{*width, *length};
  }

  void read_counts(const YamlMapping& job) {
    job_.piece.all_apertures = truth(job["all_apertures"]);
    job_.piece.apertures_in_piece = yaml_integer(job["apertures_in_piece"], 1, k_most_readings, complaints_);
    if (job_.piece.all_apertures && job["apertures_in_piece"] == nullptr) {
      const YamlMark at = job["all_apertures"]->mark;
      complaints_.add(ErrorCode::key_missing, at.line, at.column, "all_apertures needs the number of full apertures", "",
                      "apertures_in_piece: \"N\"");
    }
  }

  void read_agreed_count(const YamlNode* node) {
    if (node == nullptr) return;
    const YamlMapping agreed(node, "agreed_count", {{"value"}, {"with", "date"}}, complaints_);
    const std::optional<std::int64_t> value = yaml_integer(agreed["value"], 1, k_most_readings, complaints_);
    job_.agreed_count =
        AgreedCount{value.value_or(1), text(agreed["with"]), date(agreed["date"]), {file_, node->mark.line, node->mark.column}};
  }

  void read_laboratory(const YamlNode* node) {
    const YamlMapping laboratory(node, "laboratory", {{}, {"name", "address"}}, complaints_);
    job_.laboratory = {text(laboratory["name"]), text(laboratory["address"])};
  }

  void read_measured(const YamlNode* node) {
    const YamlMapping measured(node, "measured",
                               {{},
                                {"by", "date", "until", "place", "method", "sampling", "instrument", "resolution", "temperature",
                                 "humidity", "scale", "uncertainty"}},
                               complaints_);
    MeasurementRecord& record = job_.measured;
    record.by = text(measured["by"]);
    read_date(record.date, measured["date"]);
    read_date(record.until, measured["until"]);
    record.place = text(measured["place"]);
    record.method = text(measured["method"]);
    record.sampling = text(measured["sampling"]);
    record.instrument = text(measured["instrument"]);
    record.resolution = read_optional_length(measured["resolution"]);
    record.temperature = text(measured["temperature"]);
    record.humidity = text(measured["humidity"]);
    read_scale(measured["scale"]);
    read_uncertainty(measured["uncertainty"]);
  }

  void read_scale(const YamlNode* node) {
    if (node == nullptr) return;
    const YamlMapping scale(node, "scale", {{"certificate"}, {"issuer", "traceability", "date", "due", "correction"}}, complaints_);
    constexpr auto corrections = std::to_array<std::string_view>({"applied", "not applied"});
    const std::optional<std::size_t> correction = yaml_choice(scale["correction"], corrections, complaints_);
    job_.measured.scale = ScaleRecord{.certificate = text(scale["certificate"]),
                                      .issuer = text(scale["issuer"]),
                                      .traceability = text(scale["traceability"]),
                                      .correction_applied = correction ? std::optional(*correction == 0) : std::nullopt};
    read_date(job_.measured.scale->date, scale["date"]);
    read_date(job_.measured.scale->due, scale["due"]);
  }

  void read_uncertainty(const YamlNode* node) {
    if (node == nullptr) return;
    const YamlMapping stated(node, "uncertainty",
                             {{"budget"},
                              {"expanded", "coverage_factor", "coverage_probability", "degrees_of_freedom", "mean", "largest",
                               "standard_deviation", "wire", "lines"}},
                             complaints_);
    UncertaintyRecord record{.budget = text(stated["budget"]), .where = {file_, node->mark.line, node->mark.column}};
    job_.uncertainty.budget = read_stated_uncertainties(stated, complaints_);
    if (stated["expanded"] != nullptr) {  // of the mean, without a mapping of its own
      if (job_.uncertainty.budget.mean) {
        complaints_.add(ErrorCode::wrong_value, node->mark.line, node->mark.column, "two uncertainties of the mean", "",
                        "either expanded or mean");
      }
      job_.uncertainty.budget.mean = read_stated_uncertainty(stated, complaints_);
    } else if (stated["coverage_factor"] != nullptr || stated["coverage_probability"] != nullptr ||
               stated["degrees_of_freedom"] != nullptr) {
      complaints_.add(ErrorCode::key_missing, node->mark.line, node->mark.column, "a coverage without its uncertainty", "",
                      "expanded: the expanded uncertainty of the mean aperture");
    }
    record.lines = read_budget_lines(stated["lines"], job_.uncertainty.budget.mean, complaints_);
    job_.measured.uncertainty = std::move(record);
  }

  void read_sources(const YamlNode* node) {
    const YamlMapping sources(node, "uncertainty",
                              {{}, {"scale_factor", "scale_offset", "repeatability", "repeatability_readings"}}, complaints_);
    UncertaintySources& uncertainty = job_.uncertainty;
    uncertainty.resolution = job_.measured.resolution;
    uncertainty.scale_factor = read_part(sources["scale_factor"], 1, "not a part");
    uncertainty.scale_offset = read_optional_length(sources["scale_offset"]);
    uncertainty.repeatability = read_optional_length(sources["repeatability"]);
    uncertainty.repeatability_readings = yaml_integer(sources["repeatability_readings"], 2, k_most_readings, complaints_);
  }

  void read_process(const YamlNode* node) {
    if (node == nullptr) return;
    const YamlMapping process(node, "process", {{"mean", "standard_deviation"}, {}}, complaints_);
    const std::optional<Length> mean = yaml_length_with_unit(process["mean"], complaints_);
    const std::optional<Length> deviation = yaml_length_with_unit(process["standard_deviation"], complaints_);
    if (mean && deviation) job_.process = Prior{mean->um(), deviation->um()};
  }

  void read_decision(const YamlNode* node) {
    if (node == nullptr) return;
    const YamlMapping decision(node, "decision", {{"rule"}, {"guard_factor", "agreed"}}, complaints_);
    job_.decision_rule = located(decision["rule"]);
    job_.paper.decision_agreed = text(decision["agreed"]);
    job_.guard_factor = read_part(decision["guard_factor"], k_most_guard_factor, "not a factor of a guard band");
  }

  // A plain number from 0 to `most`, exact to nine decimals.
  std::optional<double> read_part(const YamlNode* node, double most, std::string complaint) {
    const std::optional<Length> number = yaml_length(node, Unit::millimetre, complaints_);
    if (!number) return std::nullopt;
    const double value = number->um() / 1000;
    if (value >= 0 && value <= most) return value;
    complaints_.add(ErrorCode::wrong_value, node->mark.line, node->mark.column, std::move(complaint), node->text,
                    fmt::format("a number from 0 to {}, in quotes", most));
    return std::nullopt;
  }

  void read_paper(const YamlNode* node) {
    const YamlMapping paper(node, "report",
                            {{},
                             {"number", "replaces", "amendment", "changed", "issued", "authorised_by", "authorised_as", "customer",
                              "customer_address", "customer_contact", "order", "recalibration_agreed", "deviations",
                              "supplied_by_customer", "external", "opinions_by", "short_agreed"}},
                            complaints_);
    ReportRecord& record = job_.paper;
    record.number = text(paper["number"]);
    record.replaces = text(paper["replaces"]);
    record.amendment = text(paper["amendment"]);
    record.changed = texts(paper["changed"]);
    read_date(record.issued, paper["issued"]);
    record.authorised_by = text(paper["authorised_by"]);
    record.authorised_as = text(paper["authorised_as"]);
    record.customer = text(paper["customer"]);
    record.customer_address = text(paper["customer_address"]);
    record.customer_contact = text(paper["customer_contact"]);
    record.order = text(paper["order"]);
    read_date(record.recalibration_agreed, paper["recalibration_agreed"]);
    record.deviations = texts(paper["deviations"]);
    record.external = texts(paper["external"]);
    record.opinions_by = text(paper["opinions_by"]);
    record.short_agreed = text(paper["short_agreed"]);
    if (const YamlNode* as = paper["authorised_as"]; as != nullptr && paper["authorised_by"] == nullptr)
      complaints_.add(ErrorCode::key_missing, as->mark.line, as->mark.column, "a function without the person who has it", as->text,
                      "authorised_by");
    read_supplied(paper["supplied_by_customer"]);
    if (record.replaces.empty() && (!record.amendment.empty() || !record.changed.empty())) {
      complaints_.add(ErrorCode::key_missing, paper.mark().line, paper.mark().column, "an amendment without the report it amends",
                      "", "replaces: the number of that report");
    }
    if (!record.number.empty() && record.replaces == record.number) {
      const YamlMark at = paper["replaces"]->mark;
      complaints_.add(ErrorCode::wrong_value, at.line, at.column, "a report cannot replace itself", record.replaces,
                      "the number of another report");
    }
  }

  std::vector<std::string> texts(const YamlNode* node) {
    std::vector<std::string> items;
    if (node == nullptr) return items;
    for (const YamlNode& item : yaml_items(node, complaints_)) items.push_back(text(&item));
    return items;
  }

  void read_supplied(const YamlNode* node) {
    if (node == nullptr) return;
    constexpr auto keys = std::to_array<std::string_view>(
        {"identification", "serial", "material", "weave", "heat", "frame", "roll", "order", "sampling"});
    for (const YamlNode& item : yaml_items(node, complaints_)) {
      const std::optional<std::size_t> key = yaml_choice(&item, keys, complaints_);
      if (!key) continue;
      job_.paper.supplied.emplace_back(keys[*key]);
      if (!is_stated(keys[*key]))
        complaints_.add(ErrorCode::wrong_value, item.mark.line, item.mark.column, "supplied by the customer, but not stated",
                        item.text, "a value for it in this file");
    }
  }

  // Frame, roll and sampling may be stated elsewhere.
  bool is_stated(std::string_view key) const {
    const PieceRecord& piece = job_.piece_record;
    for (const auto& [name, value] :
         std::initializer_list<std::pair<std::string_view, const std::string*>>{{"identification", &piece.identification},
                                                                                {"serial", &piece.serial},
                                                                                {"material", &piece.material},
                                                                                {"weave", &piece.weave},
                                                                                {"heat", &piece.heat},
                                                                                {"order", &job_.paper.order}}) {
      if (key == name) return !value->empty();
    }
    return true;
  }

  void read_document(const YamlNode* node) {
    constexpr auto kinds = std::to_array<std::string_view>(
        {"declaration-of-compliance", "inspection-certificate", "calibration-certificate", "certificate-3.1"});
    if (const std::optional<std::size_t> kind = yaml_choice(node, kinds, complaints_))
      job_.paper.document = static_cast<DocumentKind>(*kind + 1);
  }

  void read_sampled(const YamlNode* node) {
    const YamlMapping sampled(node, "sampled", {{}, {"date", "by", "plan", "seed"}}, complaints_);
    job_.sampled = {"", text(sampled["by"]), text(sampled["plan"]), text(sampled["seed"])};
    read_date(job_.sampled.date, sampled["date"]);
  }

  void read_examined(const YamlNode* node) {
    if (node == nullptr) return;
    constexpr auto outcomes = std::to_array<std::string_view>({"met", "not met"});
    for (const YamlNode& item : yaml_items(node, complaints_)) {
      const YamlMapping examined(&item, "something examined", {{"what", "result"}, {"limit", "outcome"}}, complaints_);
      ExaminedRecord record{text(examined["what"]), text(examined["result"]), text(examined["limit"])};
      const bool says_so = record.result == "failed" || record.result == "not met";
      const std::optional<std::size_t> outcome = yaml_choice(examined["outcome"], outcomes, complaints_);
      if (says_so && outcome == 0) complain_about(*examined["outcome"], "another outcome than the result", "not met");
      record.failed = says_so || outcome == 1;
      job_.examined.push_back(std::move(record));
    }
  }

  void read_corrected(const YamlNode* node) {
    if (node == nullptr) return;
    const std::span<const YamlNode> items = yaml_items(node, complaints_);
    job_.corrected.resize(items.size());  // whose dates stay where they are
    for (std::size_t i = 0; i < items.size(); ++i) {
      const YamlMapping row(&items[i], "a corrected reading", {{"reading", "was", "now", "reason", "by", "date"}, {}}, complaints_);
      const std::optional<Length> was = yaml_length_with_unit(row["was"], complaints_);
      const std::optional<Length> now = yaml_length_with_unit(row["now"], complaints_);
      if (was && was == now) complain_about(*row["now"], "corrected to the same value", "another value than was");
      CorrectionRecord& record = job_.corrected[i];
      record = {text(row["reading"]),   text(row["was"]),
                text(row["now"]),       text(row["reason"]),
                text(row["by"]),        "",
                now.value_or(Length()), {file_, items[i].mark.line, items[i].mark.column}};
      read_date(record.date, row["date"]);
    }
  }

  // Dates sort as text. Each complaint stands where the later of the two was expected to be later.
  void compare_dates() {
    const MeasurementRecord& measured = job_.measured;
    const std::string& last = measured.until.empty() ? measured.date : measured.until;
    expect_order(measured.date, measured.until, "measured until a day before the first");
    expect_order(job_.piece_record.received, measured.until, "measured before the piece was received");
    expect_order(job_.sampled.date, measured.until, "measured before the sampling");
    expect_order(job_.sampled.date, job_.paper.issued, "issued before the sampling");
    expect_order(job_.piece_record.received, measured.date, "measured before the piece was received");
    expect_order(job_.sampled.date, measured.date, "measured before the sampling");
    expect_order(last, job_.paper.issued, "issued before the measurement");
    expect_order(job_.piece_record.received, job_.paper.issued, "issued before the piece was received");
    if (job_.viewing) expect_order(job_.viewing->date, job_.paper.issued, "issued before the visual examination");
    if (job_.viewing) expect_order(job_.piece_record.received, job_.viewing->date, "examined before the piece was received");
    expect_order(last, job_.paper.recalibration_agreed, "recalibration before the measurement");
    expect_order(job_.paper.issued, job_.paper.recalibration_agreed, "recalibration before the report is issued");
    expect_order(job_.piece_record.received, job_.paper.recalibration_agreed, "recalibration before the piece was received");
    expect_order(job_.sampled.date, job_.paper.recalibration_agreed, "recalibration before the sampling");
    if (measured.scale)
      expect_order(measured.scale->date, job_.paper.issued, "issued before the certificate of the length standard");
    if (measured.scale) expect_order(measured.scale->date, measured.scale->due, "a certificate due before its date");
    if (measured.scale) expect_order(measured.scale->date, last, "measured before the certificate of the length standard");
    for (const CorrectionRecord& row : job_.corrected) {
      expect_order(measured.date, row.date, "corrected before the measurement");
      expect_order(job_.piece_record.received, row.date, "corrected before the piece was received");
      expect_order(job_.sampled.date, row.date, "corrected before the sampling");
      expect_order(row.date, job_.paper.issued, "issued before a correction");
    }
  }

  void expect_order(const std::string& earlier, const std::string& later, std::string complaint) {
    if (earlier.empty() || later.empty() || earlier <= later) return;
    const YamlMark at = dates_[&later];
    complaints_.add(ErrorCode::wrong_value, at.line, at.column, std::move(complaint), later, earlier + " or later");
  }

  std::optional<Length> read_optional_length(const YamlNode* node) {
    return node == nullptr ? std::nullopt : yaml_length_with_unit(node, complaints_);
  }

  void read_viewing(const YamlNode* node) {
    if (node == nullptr) return;
    const YamlMapping viewing(node, "viewing", {{"result"}, {"by", "date", "light", "magnification", "suspects"}}, complaints_);
    constexpr auto results = std::to_array<std::string_view>({"passed", "failed"});
    const std::optional<std::size_t> result = yaml_choice(viewing["result"], results, complaints_);
    job_.viewing = ViewingRecord{result == 0,
                                 text(viewing["by"]),
                                 "",
                                 text(viewing["light"]),
                                 text(viewing["magnification"]),
                                 yaml_integer(viewing["suspects"], 0, k_most_named_suspects, complaints_),
                                 {file_, node->mark.line, node->mark.column}};
    read_date(job_.viewing->date, viewing["date"]);
  }

  // The names of columns; `unit` says the same as the job's own.
  void read_columns(const YamlNode* node) {
    if (node == nullptr) return;
    const YamlMapping columns(
        node, "columns",
        {{}, {"direction", "aperture", "wire", "role", "field", "gap", "x", "y", "operator", "warp", "weft", "unit"}}, complaints_);
    for (const char* holds : {"direction", "aperture", "wire", "role", "field", "gap", "x", "y", "operator"})
      read_column(columns[holds], holds, std::nullopt);
    for (const Direction direction : k_directions) {
      const YamlNode* side = columns[to_text(direction)];
      if (side == nullptr) continue;
      const YamlMapping directed(side, "columns of one direction", {{}, {"aperture", "wire", "field", "gap", "x", "y"}},
                                 complaints_);
      for (const char* holds : {"aperture", "wire", "field", "gap", "x", "y"}) read_column(directed[holds], holds, direction);
    }
    const std::optional<Unit> of_columns = unit(columns["unit"]);
    if (of_columns && job_.unit && job_.unit != of_columns) {
      complain_about(*columns["unit"], "another unit than the job's own", "one of them");
    }
    if (of_columns) job_.unit = of_columns;
  }

  std::optional<Unit> unit(const YamlNode* node) {
    if (node == nullptr) return std::nullopt;
    const std::optional<Unit> found = find_unit(yaml_text(node, complaints_).value_or(""));
    if (!found && node->kind == YamlNode::Kind::scalar) complain_about(*node, "unknown word", "one of um, mm, in");
    return found;
  }

  void read_column(const YamlNode* node, const char* holds, std::optional<Direction> direction) {
    if (node == nullptr) return;
    const std::string name = text(node);
    for (const NamedColumn& other : job_.columns) {
      if (!name.empty() && other.name == name) complain_about(*node, "a column that is named already", "each column once");
    }
    job_.columns.push_back({name, holds, direction});
  }

  void complain_about(const YamlNode& node, std::string message, std::string expected) {
    complaints_.add(ErrorCode::wrong_value, node.mark.line, node.mark.column, std::move(message), node.text, std::move(expected));
  }

  // A text with a line break is inline readings; everything else names their files.
  void read_readings(const YamlNode* node) {
    if (node == nullptr) return;
    if (node->kind == YamlNode::Kind::mapping) return read_files_by_direction(node);
    if (node->kind == YamlNode::Kind::sequence) {
      if (node->children.size() > k_most_files)
        return complain_about(*node, "more files of readings than one job may name", fmt::format("at most {}", k_most_files));
      for (const YamlNode& item : node->children) add_file(&item, std::nullopt);
      if (node->children.empty()) complain_about(*node, "no file of readings", "the name of at least one");
      return;
    }
    if (node->kind == YamlNode::Kind::scalar && node->text.find('\n') != std::string::npos) {
      job_.readings.text = node->text;
      job_.readings.first_line = node->mark.line + 1;
      job_.readings.indentation = indentation_of(job_.readings.first_line);
      return;
    }
    add_file(node, std::nullopt);
  }

  void read_files_by_direction(const YamlNode* node) {
    const YamlMapping files(node, "readings", {{}, {"warp", "weft"}}, complaints_);
    for (const Direction direction : k_directions) add_file(files[to_text(direction)], direction);
    if (node->children.empty()) complain_about(*node, "no file of readings", "warp: FILE and weft: FILE");
  }

  void add_file(const YamlNode* node, std::optional<Direction> direction) {
    if (node == nullptr) return;
    const std::string name = text(node);
    for (const NamedFile& other : job_.readings.files) {
      if (!name.empty() && other.name == name) complain_about(*node, "a file that is named already", "each file once");
    }
    job_.readings.files.push_back({name, direction});
  }

  std::int64_t indentation_of(std::int64_t line) const {
    std::size_t at = 0;
    for (; line > 1 && at < yaml_.size(); --line) at = std::min(yaml_.find('\n', at), yaml_.size() - 1) + 1;
    const std::size_t content = yaml_.find_first_not_of(' ', at);
    return content == std::string_view::npos ? 0 : static_cast<std::int64_t>(content - at);
  }

  std::string_view yaml_;
  const std::string& file_;
  Complaints complaints_;
  std::map<const std::string*, YamlMark> dates_;
  Job job_;
};

}  // namespace

Result<Job> read_job(std::string_view yaml, const std::string& file) { return JobReader(yaml, file).read(); }

}  // namespace sievecloth
