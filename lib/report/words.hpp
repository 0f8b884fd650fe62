// Looks up wording. A key that does not exist is a compile-time error.
#pragma once

#include <algorithm>
#include <array>
#include <cstdint>
#include <initializer_list>
#include <span>
#include <string>
#include <string_view>

#include "base/enumerators.hpp"
#include "diagnosis/names.hpp"
#include "judgement/names.hpp"
#include "measurement/names.hpp"
#include "report/english.hpp"
#include "sievecloth/edition.hpp"
#include "sievecloth/report.hpp"
#include "standards/names.hpp"

namespace sievecloth {

/// The English text of a key, or nullptr.
constexpr const EnglishText* find_english(std::string_view key) noexcept {
  for (const EnglishText& entry : k_english) {
    if (entry.key == key) return &entry;
  }
  return nullptr;
}

/// The name of a family of keys, as a template argument.
template <std::size_t size>
struct FamilyName {
  consteval FamilyName(const char (&literal)[size]) { std::copy_n(literal, size, text); }
  constexpr std::string_view view() const noexcept { return {text, size - 1}; }
  char text[size]{};
};

/// A key known to exist.
class Key {
 public:
  consteval Key(const char* name) : entry_(find_english(name)) {
    if (entry_ == nullptr) throw "no such key";
  }
  /// The key `family.word` with the word of an enumerator. Does not compile unless every value of the enumeration has a text.
  template <FamilyName family, class Enum>
  static Key of(Enum value) noexcept {
    static constexpr auto entries = entries_of<family, Enum>();
    return Key(entries[static_cast<std::size_t>(value)]);
  }

  const EnglishText& english() const noexcept { return *entry_; }
  /// The part after the first point: the same in every language.
  std::string_view name() const noexcept { return entry_->key.substr(entry_->key.find('.') + 1); }

 private:
  explicit Key(const EnglishText* entry) noexcept : entry_(entry) {}

  template <FamilyName family, class Enum>
  static consteval auto entries_of() {
    std::array<const EnglishText*, enumerator_count<Enum>()> entries{};
    for (std::size_t i = 0; i < entries.size(); ++i) {
      const std::string_view word = word_of(static_cast<Enum>(i));
      for (const EnglishText& entry : k_english) {
        const bool fits = entry.key.size() == family.view().size() + 1 + word.size();
        if (fits && entry.key.starts_with(family.view()) && entry.key.ends_with(word)) entries[i] = &entry;
      }
      if (entries[i] == nullptr) throw "a value without its text";
    }
    return entries;
  }

  const EnglishText* entry_;
};

/// The value of a {place} in a text.
struct Filling {
  std::string_view place;
  std::string_view text;
};

/// Whose terms the built-in English uses: aperture and weft, or opening and shute.
enum class Vocabulary : std::uint8_t { iso, astm };
/// That of the edition.
Vocabulary vocabulary_of(const Edition& edition) noexcept;

class Words {
 public:
  /// `wording` must outlive this; its own texts stay as they are.
  explicit Words(const Wording& wording, Vocabulary vocabulary = Vocabulary::iso) : wording_(wording), vocabulary_(vocabulary) {}

  /// Returns the text with each {place} filled. A place without a filling stays unchanged.
  std::string operator()(Key key, std::initializer_list<Filling> fillings = {}) const {
    return (*this)(key, std::span(fillings.begin(), fillings.size()));
  }
  std::string operator()(Key key, std::span<const Filling> fillings) const;

  /// A text that comes from a table of limits.
  std::string of_table(std::string_view english) const;

  /// A number with the decimal mark of the language.
  std::string number(std::string digits) const;

 private:
  const Wording& wording_;
  Vocabulary vocabulary_;
};

/// Fills `{places}` once, from left to right; inserted text is not scanned again.
std::string filled(std::string_view text, std::span<const Filling> fillings);

}  // namespace sievecloth
