#include "sievecloth/digest.hpp"

#include <array>
#include <cstdint>

#include <fmt/format.h>
#include <sys/types.h>

#include <sha2.h>

namespace sievecloth {

struct Sha256::State {
  SHA2_CTX context;
};

Sha256::Sha256() : state_(std::make_unique<State>()) { SHA256Init(&state_->context); }
Sha256::~Sha256() = default;
Sha256::Sha256(Sha256&&) noexcept = default;
Sha256& Sha256::operator=(Sha256&&) noexcept = default;

void Sha256::add(std::string_view bytes) {
  SHA256Update(&state_->context, reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size());
}

std::string Sha256::hexadecimal() {
  std::array<std::uint8_t, SHA256_DIGEST_LENGTH> digest{};
  SHA256Final(digest.data(), &state_->context);
  std::string text;
  for (const std::uint8_t byte : digest) text += fmt::format("{:02x}", byte);
  return text;
}

}  // namespace sievecloth
