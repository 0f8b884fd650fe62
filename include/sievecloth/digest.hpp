// The digest that ties a report to the bytes it was made from.
#pragma once

#include <memory>
#include <string>
#include <string_view>

namespace [[gnu::visibility("default")]] sievecloth {

/// Incremental SHA-256 (FIPS 180-4); the bytes may come in pieces of any size.
class Sha256 {
 public:
  Sha256();
  ~Sha256();
  /// Moves the digest in progress.
  Sha256(Sha256&&) noexcept;
  /// Moves the digest in progress.
  Sha256& operator=(Sha256&&) noexcept;

  /// Appends bytes.
  void add(std::string_view bytes);
  /// Returns 64 hexadecimal digits. Call once, after the last `add`.
  std::string hexadecimal();

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace sievecloth
