// Looks words up in a wording. A key that does not exist is refused by the compiler.
#pragma once

#include <initializer_list>
#include <string>
#include <string_view>

#include "report/english.hpp"
#include "sievecloth/report.hpp"

namespace sievecloth {

/// The English text of a key, or none.
constexpr const EnglishText* find_english(std::string_view key) noexcept {
  for (const EnglishText& entry : k_english) {
    if (entry.key == key) return &entry;
  }
  return nullptr;
}

/// A key known to exist.
class Key {
 public:
  consteval Key(const char* name) : entry_(find_english(name)) {
    if (entry_ == nullptr) throw "no such key";
  }
  /// `family.name` with the name of an enumerator; tests see to it that each has its words.
  Key(std::string_view family, std::string_view name);

  const EnglishText& english() const noexcept { return *entry_; }

 private:
  const EnglishText* entry_;
};

/// What a {place} in a text is filled with.
struct Filling {
  std::string_view place;
  std::string_view text;
};

class Words {
 public:
  /// `wording` must outlive this.
  explicit Words(const Wording& wording) : wording_(wording) {}

  /// The text, each {place} filled. A place without a filling stays as it is.
  std::string operator()(Key key, std::initializer_list<Filling> fillings = {}) const;

  /// A number with the decimal mark of the language.
  std::string number(std::string digits) const;

 private:
  const Wording& wording_;
};

/// `{places}` filled once, from left to right: what was filled in is not looked at again.
std::string filled(std::string_view text, std::initializer_list<Filling> fillings);

}  // namespace sievecloth
