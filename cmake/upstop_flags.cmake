# Compiler flags, once for everything of ours.

set(CMAKE_C_STANDARD 17)
set(CMAKE_C_STANDARD_REQUIRED ON)
set(CMAKE_C_EXTENSIONS OFF)
set(CMAKE_EXPORT_COMPILE_COMMANDS ON)

# No -march=native and no -ffast-math: a closing gives the same bits on every machine. Tests and sanitizer builds keep
# their assertions; a release does not carry them.
# Measured on a closing with a rod: gcc's -O3 is 3 % slower than -O2, link-time optimisation 5 % faster, which is not
# worth archives that only this compiler can read.
set(CMAKE_C_FLAGS_RELEASE "-O2 -DNDEBUG")

# What may change the bits of a result is fixed here for every layer: no fused multiply-add unless written. errno and
# floating-point traps are not looked at by anyone, and giving them up changes no value; sqrt then is one instruction.
set(UPSTOP_NUMBER_FLAGS -ffp-contract=off -fno-math-errno -fno-trapping-math)

set(UPSTOP_WARNING_FLAGS -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wstrict-prototypes -Wmissing-prototypes -Wvla)
if(UPSTOP_FATAL_WARNINGS)
    list(APPEND UPSTOP_WARNING_FLAGS -Werror)
endif()

add_library(upstop_flags INTERFACE)
target_compile_options(upstop_flags INTERFACE ${UPSTOP_NUMBER_FLAGS} ${UPSTOP_WARNING_FLAGS})
target_include_directories(upstop_flags INTERFACE "${PROJECT_SOURCE_DIR}")

# Files, folders and terminals are POSIX; the layers that touch them ask for it. _XOPEN_SOURCE also brings M_PI.
add_library(upstop_posix INTERFACE)
target_compile_definitions(upstop_posix INTERFACE _XOPEN_SOURCE=700)

if(UPSTOP_SANITIZE)
    target_compile_options(upstop_flags INTERFACE -fsanitize=${UPSTOP_SANITIZE} -fno-sanitize-recover=all
                                                  -fno-omit-frame-pointer)
    target_link_options(upstop_flags INTERFACE -fsanitize=${UPSTOP_SANITIZE})
endif()

if(UPSTOP_COVERAGE)
    if(NOT CMAKE_C_COMPILER_ID MATCHES "Clang")
        message(FATAL_ERROR "UPSTOP_COVERAGE needs clang; use the preset 'coverage'")
    endif()
    target_compile_options(upstop_flags INTERFACE -fprofile-instr-generate -fcoverage-mapping)
    target_link_options(upstop_flags INTERFACE -fprofile-instr-generate)
endif()

if(UPSTOP_FUZZ)
    if(NOT CMAKE_C_COMPILER_ID MATCHES "Clang")
        message(FATAL_ERROR "UPSTOP_FUZZ needs clang; use the preset 'sanitizers'")
    endif()
    target_compile_options(upstop_flags INTERFACE -fsanitize=fuzzer-no-link)
    target_link_options(upstop_flags INTERFACE -fsanitize=fuzzer-no-link)
endif()

# For what a test or a bench cannot do without.
function(upstop_missing what)
    if(UPSTOP_STRICT)
        message(FATAL_ERROR "${what}; './dev setup' installs it")
    endif()
    message(STATUS "left out: ${what}")
endfunction()
