// Reports as plain text and as Markdown.
#include <algorithm>

#include <fmt/format.h>

#include "base/text.hpp"
#include "report/escape.hpp"
#include "report/mark.hpp"
#include "sievecloth/report.hpp"

namespace sievecloth {
namespace {

constexpr std::size_t k_line_width = 100;
constexpr std::size_t k_sentence = 60;  // characters from which a cell holds a sentence

// The columns that text can show.
std::vector<std::size_t> shown_columns(const Table& table) {
  std::vector<std::size_t> shown;
  for (std::size_t i = 0; i < table.columns.size(); ++i) {
    if (!table.columns[i].drawing) shown.push_back(i);
  }
  return shown;
}

bool holds_sentences(const Table& table) {
  return std::any_of(table.rows.begin(), table.rows.end(),
                     [](const auto& row) { return row.size() > 1 && character_count(row.back().text) > k_sentence; });
}

// ---- plain text

// Wraps words into lines of `k_line_width`: the first begins with `lead`, the others with as many blanks.
std::string wrapped(std::string_view text, const std::string& lead) {
  std::string result = lead;
  std::size_t column = character_count(lead);
  const std::size_t indent = column;
  bool first = true;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find(' '), text.size());
    const std::string_view word = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    const std::size_t length = character_count(word);
    if (!first && column + 1 + length > k_line_width) {
      result += "\n" + std::string(indent, ' ');
      column = indent;
    } else if (!first) {
      result += ' ';
      ++column;
    }
    result += word;
    column += length;
    first = false;
  }
  return result + "\n";
}

std::string underlined(const std::string& title, char line) {
  return title + "\n" + std::string(character_count(title), line) + "\n";
}

std::string fact_lines(const std::vector<Fact>& facts) {
  std::size_t widest = 0;
  for (const Fact& fact : facts) widest = std::max(widest, character_count(fact.name));
  std::string text;
  for (const Fact& fact : facts) text += wrapped(fact.value, "  " + padded(fact.name, widest + 2, false));
  return text;
}

struct TextWriter {
  std::string& text;

  void operator()(const Paragraph& paragraph) const { text += wrapped(paragraph.text, "  "); }
  void operator()(const Notes& notes) const {
    for (const std::string& item : notes.items) text += wrapped(item, "  - ");
  }
  void operator()(const Facts& facts) const { text += fact_lines(facts.facts); }
  void operator()(const Table& table) const {
    if (holds_sentences(table)) return as_paragraphs(table);
    std::vector<std::size_t> widths(table.columns.size());
    const std::vector<std::size_t> shown = shown_columns(table);
    for (const std::size_t i : shown) {
      std::size_t widest = character_count(table.columns[i].title);
      for (const auto& row : table.rows) {
        if (row.size() > 1) widest = std::max(widest, character_count(row[i].text));
      }
      widths[i] = widest;
    }
    const auto line = [&](auto cell_text) {
      std::string row = " ";
      for (const std::size_t i : shown) row += " " + padded(cell_text(i), widths[i], table.columns[i].number) + " ";
      row.erase(row.find_last_not_of(' ') + 1);
      text += row + "\n";
    };
    line([&](std::size_t i) { return table.columns[i].title; });
    for (const auto& row : table.rows) {
      if (row.size() == 1) {
        text += "  " + row.front().text + "\n";
      } else {
        line([&](std::size_t i) { return row[i].text; });
      }
    }
  }
  // Columns of whole sentences would be wider than any page.
  void as_paragraphs(const Table& table) const {
    for (const auto& row : table.rows) {
      text += "  " + row.front().text + "\n";
      for (std::size_t i = 1; i < row.size(); ++i) text += wrapped(table.columns[i].title + ": " + row[i].text, "    ");
    }
  }
  void operator()(const Pictures&) const {}
  void operator()(const Signatures& signatures) const {
    for (const std::string& name : signatures.names) text += "\n\n  " + std::string(40, '_') + "\n  " + name + "\n";
  }
};

bool only_pictures(const Section& section) {
  return std::all_of(section.blocks.begin(), section.blocks.end(),
                     [](const Block& block) { return std::holds_alternative<Pictures>(block); });
}

// ---- Markdown

struct MarkdownWriter {
  std::string& text;

  void operator()(const Paragraph& paragraph) const { text += escaped_markdown(paragraph.text) + "\n\n"; }
  void operator()(const Notes& notes) const {
    for (const std::string& item : notes.items) text += "- " + escaped_markdown(item) + "\n";
    text += "\n";
  }
  void operator()(const Facts& facts) const {
    text += "| | |\n|---|---|\n";
    for (const Fact& fact : facts.facts)
      text += fmt::format("| {} | {} |\n", escaped_markdown(fact.name), escaped_markdown(fact.value));
    text += "\n";
  }
  void operator()(const Table& table) const {
    std::string rule;
    const std::vector<std::size_t> shown = shown_columns(table);
    for (const std::size_t i : shown) {
      text += fmt::format("| {} ", escaped_markdown(table.columns[i].title));
      rule += table.columns[i].number ? "|---:" : "|---";
    }
    text += "|\n" + rule + "|\n";
    for (const auto& row : table.rows) {
      for (const std::size_t i : shown) text += i < row.size() ? cell(row[i]) : "| ";
      text += "|\n";
    }
    text += "\n";
  }
  static std::string cell(const TableCell& cell) {
    const std::string safe = escaped_markdown(cell.text);
    return cell.strong && !safe.empty() ? fmt::format("| **{}** ", safe) : fmt::format("| {} ", safe);
  }
  void operator()(const Pictures&) const {}
  void operator()(const Signatures& signatures) const {
    for (const std::string& name : signatures.names) text += fmt::format("{}: ____________________\n\n", escaped_markdown(name));
  }
};

}  // namespace

std::string to_text(const Report& report) {
  const Letterhead& letterhead = report.source.letterhead;
  std::string text;
  if (!letterhead.name.empty()) text += letterhead.name + "\n";
  for (const std::string& line : letterhead.address) text += line + "\n";
  if (!letterhead.accreditation.empty()) text += letterhead.accreditation + "\n";
  if (!text.empty()) text += "\n";
  if (!report.page_head.empty()) text += report.page_head + "\n\n";
  text += underlined(report.title, '=') + fact_lines(report.facts) + "\n";
  text += report.subject + "\n" + underlined(report.verdict, '-');
  for (const std::string& qualifier : report.qualifiers) text += wrapped(qualifier, "  - ");
  for (const Section& section : report.sections) {
    if (only_pictures(section)) continue;
    text += "\n" + underlined(section.title, '-');
    for (const Block& block : section.blocks) std::visit(TextWriter{text}, block);
  }
  return text + "\n" + report_mark(report.source.job) + "\n";
}

std::string to_markdown(const Report& report) {
  const Letterhead& letterhead = report.source.letterhead;
  std::string text;
  if (!letterhead.name.empty()) text += fmt::format("**{}**\n\n", escaped_markdown(letterhead.name));
  for (const std::string& line : letterhead.address) text += escaped_markdown(line) + "\n\n";
  if (!letterhead.accreditation.empty()) text += escaped_markdown(letterhead.accreditation) + "\n\n";
  if (!report.page_head.empty()) text += fmt::format("**{}**\n\n", escaped_markdown(report.page_head));
  text += fmt::format("# {}\n\n", escaped_markdown(report.title));
  MarkdownWriter{text}(Facts{report.facts});
  text += fmt::format("{}\n\n**{}**\n\n", escaped_markdown(report.subject), escaped_markdown(report.verdict));
  if (!report.qualifiers.empty()) MarkdownWriter{text}(Notes{report.qualifiers});
  for (const Section& section : report.sections) {
    if (only_pictures(section)) continue;
    text += fmt::format("## {}\n\n", escaped_markdown(section.title));
    for (const Block& block : section.blocks) std::visit(MarkdownWriter{text}, block);
  }
  return text + fmt::format("<!-- {} -->\n", report_mark(report.source.job));
}

}  // namespace sievecloth
