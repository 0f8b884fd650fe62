// The digest that ties a report to the bytes it was made from.
#pragma once

#include <memory>
#include <string>
#include <string_view>

namespace [[gnu::visibility("default")]] sievecloth {

/// SHA-256 (FIPS 180-4) of bytes that come in pieces of any size.
class Sha256 {
 public:
  Sha256();
  ~Sha256();
  /// Moves the digest under way.
  Sha256(Sha256&&) noexcept;
  /// Moves the digest under way.
  Sha256& operator=(Sha256&&) noexcept;

  /// Takes the next bytes.
  void add(std::string_view bytes);
  /// 64 hexadecimal digits. Once, after the last `add`.
  std::string hexadecimal();

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace sievecloth
