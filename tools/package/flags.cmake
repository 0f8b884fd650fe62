# How everything of ours is compiled and linked, by compiler: sievecloth_flags is linked privately.
include(CheckCXXCompilerFlag)
include(CheckLinkerFlag)
include(CheckPIESupported)
check_pie_supported(LANGUAGES CXX)  # without it CMake compiles a program for any address, and links it for one
set(CMAKE_POSITION_INDEPENDENT_CODE ON)
add_library(sievecloth_flags INTERFACE)

# sievecloth_if_known(compile|link FLAGS...): what the compiler, its processor or the linker may not know.
function(sievecloth_if_known kind)
  string(MAKE_C_IDENTIFIER "SIEVECLOTH_KNOWS_${ARGN}" known)
  if(kind STREQUAL "compile")
    check_cxx_compiler_flag("${ARGN}" ${known})
  else()
    check_linker_flag(CXX "${ARGN}" ${known})
  endif()
  if(${known})
    cmake_language(CALL target_${kind}_options sievecloth_flags INTERFACE ${ARGN})
  endif()
endfunction()

if(MSVC)
  target_compile_options(sievecloth_flags INTERFACE /W4 /permissive- /utf-8 /fp:precise /Zc:__cplusplus /guard:cf /we4062 $<$<BOOL:${SIEVECLOTH_WERROR}>:/WX>)
  target_link_options(sievecloth_flags INTERFACE /guard:cf)
  return()
endif()

target_compile_options(sievecloth_flags INTERFACE
  -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wsign-conversion -ffp-contract=off
  $<$<CXX_COMPILER_ID:GNU>:-Wno-restrict>  # GCC 12 sees overlaps in "literal" + std::string that are not there
  -Werror=switch  # a value that was added to an enumeration and forgotten in a switch does not compile
  -Wno-missing-field-initializers  # designated initializers leave members to their defaults on purpose
  -ffunction-sections -fdata-sections  # a program takes what it calls
  $<$<BOOL:${SIEVECLOTH_WERROR}>:-Werror>)
sievecloth_if_known(compile -fno-semantic-interposition)  # position-independent code may inline its own functions

# What makes a mistake harder to misuse. Fortified functions exist only where the compiler optimises, and not under a sanitizer.
target_compile_options(sievecloth_flags INTERFACE
  -fstack-protector-strong "$<$<CONFIG:Release,RelWithDebInfo,MinSizeRel>:-U_FORTIFY_SOURCE;-D_FORTIFY_SOURCE=2>")
sievecloth_if_known(compile -fstack-clash-protection)
sievecloth_if_known(compile -fcf-protection=full)  # x86
if(NOT APPLE AND NOT WIN32)
  target_link_options(sievecloth_flags INTERFACE LINKER:--gc-sections LINKER:-z,relro LINKER:-z,now LINKER:-z,noexecstack)
  # The start files of Debian 12 are not marked for control-flow protection, so that the linker would leave the mark out.
  sievecloth_if_known(link LINKER:-z,ibt LINKER:-z,shstk)
endif()
