#include "sievecloth/report_template.hpp"

#include <utility>

#include <rapidjson/document.h>
#include <kainjow/mustache.hpp>

namespace sievecloth {
namespace {

using kainjow::mustache::data;

data from_json(const rapidjson::Value& value) {
  switch (value.GetType()) {
    case rapidjson::kObjectType: {
      data object(data::type::object);
      for (const auto& member : value.GetObject()) object.set(member.name.GetString(), from_json(member.value));
      return object;
    }
    case rapidjson::kArrayType: {
      data list(data::type::list);
      for (const rapidjson::Value& item : value.GetArray()) list.push_back(from_json(item));
      return list;
    }
    case rapidjson::kStringType: return data(std::string(value.GetString(), value.GetStringLength()));  // numbers too, as written
    case rapidjson::kTrueType: return data(data::type::bool_true);
    default: return data(data::type::bool_false);
  }
}

data text_list(const std::vector<std::string>& texts) {
  data list(data::type::list);
  for (const std::string& text : texts) list.push_back(data(text));
  return list;
}

data fact_list(const std::vector<Fact>& facts) {
  data list(data::type::list);
  for (const Fact& fact : facts) {
    data item(data::type::object);
    item.set("name", fact.name);
    item.set("value", fact.value);
    list.push_back(item);
  }
  return list;
}

data table_data(const Table& table) {
  data columns(data::type::list);
  for (const TableColumn& column : table.columns) columns.push_back(data("title", data(column.title)));
  data rows(data::type::list);
  for (const auto& row : table.rows) {
    data cells(data::type::list);
    for (const TableCell& cell : row) {
      data item(data::type::object);
      item.set("text", cell.text);
      item.set("strong", cell.strong ? data(data::type::bool_true) : data(data::type::bool_false));
      cells.push_back(item);
    }
    data item(data::type::object);
    item.set(row.size() == 1 ? "heading" : "cells", cells);
    rows.push_back(item);
  }
  data result(data::type::object);
  result.set("columns", columns);
  result.set("rows", rows);
  return result;
}

// A section's blocks by their kind, each kind in its order.
struct SectionLists {
  data paragraphs{data::type::list};
  data notes{data::type::list};
  data facts{data::type::list};
  data tables{data::type::list};
  data pictures{data::type::list};
  data signatures{data::type::list};

  void operator()(const Paragraph& paragraph) { paragraphs.push_back(data(paragraph.text)); }
  void operator()(const Notes& block) {
    for (const std::string& item : block.items) notes.push_back(data(item));
  }
  void operator()(const Facts& block) {
    const data list = fact_list(block.facts);
    for (const data& fact : list.list_value()) facts.push_back(fact);
  }
  void operator()(const Table& table) { tables.push_back(table_data(table)); }
  void operator()(const Pictures& block) {
    for (const Picture& picture : block.pictures) {
      data item(data::type::object);
      item.set("title", picture.title);
      item.set("key", picture.key);
      item.set("svg", to_svg(picture.drawing, picture.title));
      pictures.push_back(item);
    }
  }
  void operator()(const Signatures& block) {
    for (const std::string& name : block.names) signatures.push_back(data(name));
  }
};

data section_data(const Section& section) {
  SectionLists lists;
  for (const Block& block : section.blocks) std::visit(lists, block);
  data item(data::type::object);
  item.set("id", section.id);
  item.set("title", section.title);
  for (auto& [name, list] : {std::pair<std::string, data&>{"paragraphs", lists.paragraphs},
                             {"notes", lists.notes},
                             {"facts", lists.facts},
                             {"tables", lists.tables},
                             {"pictures", lists.pictures},
                             {"signatures", lists.signatures}})
    item.set(name, list);
  return item;
}

data shown(const Report& report) {
  data result(data::type::object);
  result.set("title", report.title);
  result.set("number", report.number);
  result.set("subject", report.subject);
  result.set("verdict", report.verdict);
  result.set("qualifiers", text_list(report.qualifiers));
  result.set("facts", fact_list(report.facts));
  data sections(data::type::list);
  for (const Section& section : report.sections) sections.push_back(section_data(section));
  result.set("sections", sections);
  return result;
}

}  // namespace

Result<std::string> fill_template(const Report& report, std::string_view text, TemplateKind kind) {
  kainjow::mustache::mustache layout{std::string(text)};
  if (!layout.is_valid()) return Error{ErrorCode::wrong_value, "not a template: " + layout.error_message(), "", "", {}};
  if (kind == TemplateKind::text) layout.set_custom_escape([](const std::string& raw) { return raw; });
  rapidjson::Document document;
  document.Parse<rapidjson::kParseNumbersAsStringsFlag>(to_json(report).c_str());
  data model = from_json(document);
  model.set("shown", shown(report));
  return layout.render(model);
}

}  // namespace sievecloth
