// Collects the errors found in one file, so that they are reported together.
#pragma once

#include <algorithm>
#include <string>
#include <tuple>
#include <utility>

#include "sievecloth/result.hpp"

namespace sievecloth {

/// Errors of one file, added in any order; `take` returns the first ones by location.
class Complaints {
 public:
  explicit Complaints(std::string file) : file_(std::move(file)) {}

  void add(ErrorCode code, std::int64_t line, std::int64_t column, std::string message, std::string_view found = {},
           std::string expected = {}) {
    if (full()) return;
    errors_.push_back({code, std::move(message), printable(found), std::move(expected), {file_, line, column}});
  }

  bool none() const noexcept { return errors_.empty(); }
  /// Whether more are dropped: what makes one need not be computed any more.
  bool full() const noexcept { return errors_.size() == k_kept; }

  Errors take() {
    const auto place = [](const Error& error) { return std::tie(error.where.line, error.where.column); };
    std::stable_sort(errors_.begin(), errors_.end(), [&](const Error& a, const Error& b) { return place(a) < place(b); });
    if (errors_.size() > k_most_complaints) errors_.resize(k_most_complaints);
    return std::move(errors_);
  }

 private:
  static constexpr std::size_t k_kept = 1000;  // bounds memory when every line of a file is wrong
  std::string file_;
  Errors errors_;
};

}  // namespace sievecloth
