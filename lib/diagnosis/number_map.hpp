// A map from whole numbers, for inner loops: open addressing in one array.
#pragma once

#include <cstdint>
#include <limits>
#include <utility>
#include <vector>

namespace sievecloth {

/// Keys above the smallest 64-bit number. No entry is removed.
template <class Value>
class NumberMap {
 public:
  /// Returns the value of a key, a new one if it has none.
  Value& operator[](std::int64_t key) {
    Entry* entry = &slot(key);
    if (entry->first == k_unused) {
      if (++used_ > entries_.size() / 5 * 4) entry = &grow_for(key);
      entry->first = key;
    }
    return entry->second;
  }

  /// Returns the value of a key, or null.
  Value* find(std::int64_t key) noexcept {
    Entry& entry = slot(key);
    return entry.first == k_unused ? nullptr : &entry.second;
  }

  std::size_t size() const noexcept { return used_; }

  /// Calls `visit(key, value)` for every entry, in no order.
  template <class Visit>
  void for_each(Visit visit) const {
    for (const Entry& entry : entries_) {
      if (entry.first != k_unused) visit(entry.first, entry.second);
    }
  }

 private:
  using Entry = std::pair<std::int64_t, Value>;
  static constexpr std::int64_t k_unused = std::numeric_limits<std::int64_t>::min();
  static constexpr int k_first_shift = 54;  // 64 less the binary logarithm of the size

  Entry& slot(std::int64_t key) noexcept {
    std::size_t at = static_cast<std::size_t>(static_cast<std::uint64_t>(key) * 0x9E3779B97F4A7C15u >> shift_);
    while (entries_[at].first != k_unused && entries_[at].first != key) at = (at + 1) & (entries_.size() - 1);
    return entries_[at];
  }

  Entry& grow_for(std::int64_t key) {
    --shift_;
    std::vector<Entry> before(std::size_t{1} << (64 - shift_), Entry{k_unused, Value()});
    before.swap(entries_);
    for (Entry& entry : before) {
      if (entry.first != k_unused) slot(entry.first) = std::move(entry);
    }
    return slot(key);
  }

  int shift_ = k_first_shift;
  std::vector<Entry> entries_{std::size_t{1} << (64 - k_first_shift), Entry{k_unused, Value()}};
  std::size_t used_ = 0;
};

}  // namespace sievecloth
