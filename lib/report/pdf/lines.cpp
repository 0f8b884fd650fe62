#include "report/pdf/lines.hpp"

#include <algorithm>

#include "base/text.hpp"

namespace sievecloth::pdf {
namespace {

class Breaker {
 public:
  Breaker(const Fonts& fonts, const Face& face, double width) : fonts_(fonts), face_(face), width_(width) {}

  Lines lines(std::string_view text) {
    while (!text.empty()) {
      const std::size_t end = word_end(text);
      add_word(text.substr(0, end));
      text.remove_prefix(std::min(end + 1, text.size()));
    }
    if (!line_.empty() || lines_.empty()) lines_.push_back(line_);
    return std::move(lines_);
  }

 private:
  // Keeps a number together with its unit.
  static std::size_t word_end(std::string_view text) {
    const std::size_t end = std::min(text.find(' '), text.size());
    if (end == 0 || end == text.size() || !is_digit(text[end - 1])) return end;
    const std::string_view rest = text.substr(end + 1);
    for (const std::string_view unit : {k_um_symbol, std::string_view("mm"), std::string_view("%")}) {
      if (rest.starts_with(unit)) return end + 1 + std::min(rest.find(' '), rest.size());
    }
    return end;
  }

  bool fits(const std::string& line) const { return fonts_.width(line, face_.size, face_.bold) <= width_; }

  void add_word(std::string_view word) {
    const std::string longer = line_.empty() ? std::string(word) : line_ + " " + std::string(word);
    if (fits(longer)) {
      line_ = longer;
    } else if (fits(std::string(word))) {
      lines_.push_back(std::move(line_));
      line_ = word;
    } else {
      add_characters(word);
    }
  }

  void add_characters(std::string_view word) {
    if (!line_.empty()) line_ += ' ';
    while (!word.empty()) {
      const std::size_t length = std::max<std::size_t>(1, utf8_length(word));
      const std::string longer = line_ + std::string(word.substr(0, length));
      if (!fits(longer) && !line_.empty()) {
        lines_.push_back(std::move(line_));
        line_.clear();
      }
      line_ += word.substr(0, length);
      word.remove_prefix(length);
    }
  }

  const Fonts& fonts_;
  const Face& face_;
  double width_;
  Lines lines_;
  std::string line_;
};

}  // namespace

Lines break_lines(const Fonts& fonts, const Face& face, double width, std::string_view text) {
  return Breaker(fonts, face, width).lines(text);
}

double word_width(const Fonts& fonts, const Face& face, std::string_view text) {
  double widest = 0;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find(' '), text.size());
    widest = std::max(widest, fonts.width(text.substr(0, end), face.size, face.bold));
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  return widest;
}

}  // namespace sievecloth::pdf
