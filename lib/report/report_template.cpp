#include "sievecloth/report_template.hpp"

#include <utility>
#include <vector>

#include <kainjow/mustache.hpp>

#include "report/json_parts.hpp"

namespace sievecloth {
namespace {

using kainjow::mustache::data;

// The document as Mustache sees it: numbers as written; false and null count as nothing.
class Model final : public JsonWriter {
 public:
  data take() { return std::move(document_); }

  void key(std::string_view name) override { open_.back().key = name; }

 private:
  struct Opened {
    data content;
    std::string key = {};  // of the next member
  };

  void open(Container container) override {
    open_.push_back({data(container == Container::object ? data::type::object : data::type::list)});
  }
  void close(Container) override {
    data finished = std::move(open_.back().content);
    open_.pop_back();
    add(std::move(finished));
  }
  void string(std::string_view text) override { add(data(std::string(text))); }
  void number(std::string_view digits) override { string(digits); }
  void word(std::string_view word) override { add(data(word == "true" ? data::type::bool_true : data::type::bool_false)); }

  void add(data content) {
    if (open_.empty()) {
      document_ = std::move(content);
    } else if (Opened& opened = open_.back(); opened.content.is_object()) {
      opened.content.set(opened.key, std::move(content));
    } else {
      opened.content.push_back(std::move(content));
    }
  }

  data document_;
  std::vector<Opened> open_;
};

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
      if (cell.drawing) item.set("svg", to_svg(*cell.drawing, ""));
      cells.push_back(item);
    }
    data item(data::type::object);
    item.set(row.size() == 1 ? "heading" : "cells", cells);
    rows.push_back(item);
  }
  data result(data::type::object);
  result.set("columns", columns);
  result.set("rows", rows);
  result.set("key", table.key);
  return result;
}

// The blocks of a section by kind, each kind in order.
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
  Model document;
  write_document(document, report);
  data model = document.take();
  model.set("shown", shown(report));
  return layout.render(model);
}

}  // namespace sievecloth
