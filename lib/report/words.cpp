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

std::string Words::operator()(Key key, std::span<const Filling> fillings) const {
  const auto own = wording_.texts.find(std::string(key.english().key));
  return filled(own == wording_.texts.end() ? key.english().text : std::string_view(own->second), fillings);
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
