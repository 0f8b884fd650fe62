// Vectors as wide as the processor has them, for reading rows and summing them: a class for each width, with the same operations.
#pragma once

#include <array>
#include <bit>
#include <cstdint>
#include <cstring>

#include "measurement/vectorised.hpp"

#if defined(__x86_64__)
#include <immintrin.h>
#endif

// They are passed to what is a part of a loop, and by reference to what may not be.
#pragma GCC diagnostic ignored "-Wpsabi"

namespace sievecloth {

template <class Element, std::size_t bytes>
using Vector [[gnu::vector_size(bytes)]] = Element;

/// The digits of both numbers of a row, eight each, the first in the first byte.
using Digits = Vector<std::uint64_t, 16>;
/// Of two rows: each has its numbers in the first two of four words.
using NumbersOfTwo = Vector<std::uint32_t, 32>;

template <class Type>
SIEVECLOTH_PART_OF_LOOP Type load_as(const void* from) noexcept {
  Type value;
  std::memcpy(&value, from, sizeof(value));
  return value;
}

/// Of 16 bytes, which every processor of 64 bits has.
struct NarrowVectors {
  using Bytes = Vector<std::uint8_t, 16>;
  using Words = Vector<std::uint64_t, 16>;

  /// The highest bit of each byte, the first byte's the lowest.
  SIEVECLOTH_PART_OF_LOOP static std::uint32_t highest_bits(const Bytes& bytes) noexcept {
#if defined(__SSE2__)
    return static_cast<std::uint32_t>(_mm_movemask_epi8(reinterpret_cast<__m128i>(bytes)));
#else
    const auto of_word = [&](std::size_t i) {
      const std::uint64_t highest = reinterpret_cast<Digits>(bytes)[i] >> 7 & 0x0101'0101'0101'0101u;
      return static_cast<std::uint32_t>(highest * 0x0102'0408'1020'4080u >> 56);
    };
    return of_word(0) | of_word(1) << 8;
#endif
  }

  /// Where the lowest of the bits that are set is; 64 where none is.
  SIEVECLOTH_PART_OF_LOOP static std::uint64_t lowest(std::uint64_t bits) noexcept {
    return static_cast<std::uint64_t>(std::countr_zero(bits));
  }

  /// Of each word, the square of its lower half.
  SIEVECLOTH_PART_OF_LOOP static void square_lower_halves(const Words& words, Words& squares) noexcept {
#if defined(__SSE2__)
    squares = reinterpret_cast<Words>(_mm_mul_epu32(reinterpret_cast<__m128i>(words), reinterpret_cast<__m128i>(words)));
#else
    const Words halves = words & 0xFFFF'FFFFu;
    squares = halves * halves;
#endif
  }

  /// Of 16 bytes those that `from` names, zeros for 0x80.
  SIEVECLOTH_PART_OF_LOOP static Digits pick(const Digits& bytes, const std::array<std::uint8_t, 16>& from) noexcept {
    std::array<std::uint8_t, 0x81> all;
    std::memcpy(all.data(), &bytes, sizeof(bytes));
    all.back() = 0;
    const auto word = [&](std::size_t first) {
      std::uint64_t picked = 0;
      for (std::size_t i = 8; i-- > 0;) picked = picked << 8 | all[from[first + i]];
      return picked;
    };
    return Digits{word(0), word(8)};
  }

  /// Tens of pairs, hundreds of fours, then all: each step multiplies what comes first into the place of what follows it.
  SIEVECLOTH_PART_OF_LOOP static Digits to_numbers(const Digits& characters) noexcept {
    using Words16 = Vector<std::uint16_t, 16>;
    using Words32 = Vector<std::uint32_t, 16>;
    const Digits digits = characters & 0x0F0F'0F0F'0F0F'0F0Fu;
    const Words16 pairs = reinterpret_cast<Words16>(digits) * (10 << 8 | 1) >> 8;
    const Words32 fours = reinterpret_cast<Words32>(pairs) * (100 << 16 | 1) >> 16;
    const Digits both = reinterpret_cast<Digits>(fours * Words32{10'000, 1, 10'000, 1});
    return both + (both >> 32);
  }
  SIEVECLOTH_PART_OF_LOOP static void to_numbers(const Digits& row, const Digits& other, NumbersOfTwo& numbers) noexcept {
    const Digits a = to_numbers(row), b = to_numbers(other);
    const auto word = [](std::uint64_t number) { return static_cast<std::uint32_t>(number); };
    numbers = NumbersOfTwo{word(a[0]), word(a[1]), 1, 1, word(b[0]), word(b[1]), 1, 1};
  }
};

#if defined(__x86_64__)
/// Of 32 bytes, with AVX2: to be called where has_wide_vectors().
struct WideVectors {
  using Bytes = Vector<std::uint8_t, 32>;
  using Words = Vector<std::uint64_t, 32>;

  SIEVECLOTH_WIDE static inline std::uint32_t highest_bits(const Bytes& bytes) noexcept {
    return static_cast<std::uint32_t>(_mm256_movemask_epi8(reinterpret_cast<__m256i>(bytes)));
  }
  SIEVECLOTH_WIDE static inline Digits pick(const Digits& bytes, const std::array<std::uint8_t, 16>& from) noexcept {
    return reinterpret_cast<Digits>(_mm_shuffle_epi8(reinterpret_cast<__m128i>(bytes), load_as<__m128i>(from.data())));
  }
  SIEVECLOTH_WIDE static inline void square_lower_halves(const Words& words, Words& squares) noexcept {
    squares = reinterpret_cast<Words>(_mm256_mul_epu32(reinterpret_cast<__m256i>(words), reinterpret_cast<__m256i>(words)));
  }
  SIEVECLOTH_WIDE static inline std::uint64_t lowest(std::uint64_t bits) noexcept { return _tzcnt_u64(bits); }
  SIEVECLOTH_WIDE static inline void to_numbers(const Digits& row, const Digits& other, NumbersOfTwo& numbers) noexcept {
    const __m256i both = _mm256_set_m128i(reinterpret_cast<__m128i>(other), reinterpret_cast<__m128i>(row));
    const __m256i digits = _mm256_and_si256(both, _mm256_set1_epi8(0x0F));
    const __m256i pairs = _mm256_maddubs_epi16(digits, _mm256_set1_epi16(1 << 8 | 10));
    const __m256i fours = _mm256_madd_epi16(pairs, _mm256_set1_epi32(1 << 16 | 100));
    const __m256i packed = _mm256_packus_epi32(fours, fours);
    numbers = reinterpret_cast<NumbersOfTwo>(_mm256_madd_epi16(packed, _mm256_set1_epi32(1 << 16 | 10'000)));
  }
};
#else
using WideVectors = NarrowVectors;
#endif

}  // namespace sievecloth
