// For inner loops: plain code in one version for each generation of x86-64, the right one chosen when the program is loaded.
#pragma once

// Sanitizers come too late for the choice, which is made before they are ready; clang 14 gives such a function a name that no other
// file finds.
#if defined(__x86_64__) && defined(__gnu_linux__) && !defined(__clang__) && !defined(__SANITIZE_ADDRESS__) && \
    !defined(__SANITIZE_THREAD__)
#define SIEVECLOTH_VECTORISED __attribute__((target_clones("arch=x86-64-v4", "arch=x86-64-v3", "default")))
#else
#define SIEVECLOTH_VECTORISED
#endif

// What such a loop calls takes part in its version only as a part of it.
#define SIEVECLOTH_PART_OF_LOOP [[gnu::always_inline]] inline
