// Inner loops in two versions: for every processor, and for x86-64 with 32-byte vectors (AVX2). The processor is queried when a
// loop is first called, not when the program is loaded: startup should not pay for what only a long file needs.
#pragma once

#if defined(__x86_64__)
#define SIEVECLOTH_TARGET_AVX2 [[gnu::target("avx2,bmi,bmi2")]]
#if __has_include(<sys/platform/x86.h>) && !defined(__clang__)
#include <sys/platform/x86.h>
#endif
#else
#define SIEVECLOTH_TARGET_AVX2
#endif

// Functions called by such a loop are compiled for its version only if inlined into it.
#define SIEVECLOTH_ALWAYS_INLINE [[gnu::always_inline]] inline

namespace sievecloth {

// For tests of the other version, GLIBC_TUNABLES=glibc.cpu.hwcaps=-AVX2 in the environment makes the C library report no AVX2.
inline bool has_wide_vectors() noexcept {
#if !defined(__x86_64__)
  return false;
#elif defined(CPU_FEATURE_ACTIVE)
  static const bool has = CPU_FEATURE_ACTIVE(AVX2) && CPU_FEATURE_ACTIVE(BMI1) && CPU_FEATURE_ACTIVE(BMI2);
  return has;
#else
  static const bool has = __builtin_cpu_supports("avx2") && __builtin_cpu_supports("bmi") && __builtin_cpu_supports("bmi2");
  return has;
#endif
}

template <auto loop, class... Arguments>
SIEVECLOTH_TARGET_AVX2 auto run_wide(Arguments... arguments) noexcept {
  return loop(arguments...);
}

/// Runs `loop`, the body of a loop, in the version for this processor.
template <auto loop, class... Arguments>
auto vectorised(Arguments... arguments) noexcept {
  return has_wide_vectors() ? run_wide<loop>(arguments...) : loop(arguments...);
}

}  // namespace sievecloth
