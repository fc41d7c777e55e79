# Tests, found by folder and name:
#
#   tests/<kind>/**/<name>_test.c   a cmocka program, ctest case <kind>/<name>; kind: unit answers laws reference
#   tests/<kind>/**/*.c             otherwise: helpers, linked into the programs of that kind
#   tests/support/*.c               helpers for every kind
#   tests/commands/<name>.sh        a shell script, case commands/<name>; names starting with _ are helpers
#   tests/wasm/<name>.mjs           case wasm/<name>, run as: node <name>.mjs MODULE NATIVE; NATIVE is tests/wasm/native.c
#                                   built with apps/wasm/*.c for this machine, to hold the module against
#   tests/detector/                 see cmake/upstop_detector_tests.cmake
#   tests/fuzz/<name>_fuzz.c        a fuzzer; its saved inputs tests/fuzz/corpus/<name>/* are replayed in every build
#
# Every case runs in the repository's root folder with these in its environment: UPSTOP the built program, UPSTOP_BUILD
# the build folder, UPSTOP_SOURCE the root, TMPDIR a scratch folder inside the build.

set(UPSTOP_SCRATCH "${PROJECT_BINARY_DIR}/scratch")
file(MAKE_DIRECTORY "${UPSTOP_SCRATCH}")
set(UPSTOP_TEST_ENVIRONMENT
    "UPSTOP=${PROJECT_BINARY_DIR}/upstop"
    "UPSTOP_BUILD=${PROJECT_BINARY_DIR}"
    "UPSTOP_SOURCE=${PROJECT_SOURCE_DIR}"
    "TMPDIR=${UPSTOP_SCRATCH}"
    "LC_ALL=C.UTF-8"
    "ASAN_OPTIONS=detect_leaks=1:strict_string_checks=1"
    "LSAN_OPTIONS=suppressions=${PROJECT_SOURCE_DIR}/tools/leaks-of-others:print_suppressions=0"
    "UBSAN_OPTIONS=print_stacktrace=1")
set(UPSTOP_TEST_SECONDS 600)

function(upstop_case name label)
    add_test(NAME "${name}" COMMAND ${ARGN} WORKING_DIRECTORY "${PROJECT_SOURCE_DIR}")
    set_tests_properties("${name}" PROPERTIES LABELS "${label}" TIMEOUT ${UPSTOP_TEST_SECONDS}
                         ENVIRONMENT "${UPSTOP_TEST_ENVIRONMENT}")
endfunction()

add_library(upstop_test_flags INTERFACE)
target_link_libraries(upstop_test_flags INTERFACE upstop_flags upstop_posix)
# A test's own assertions count in every build.
target_compile_options(upstop_test_flags INTERFACE -UNDEBUG)
target_compile_definitions(upstop_test_flags INTERFACE UPSTOP_SOURCE_DIR="${PROJECT_SOURCE_DIR}")
if(UPSTOP_SANITIZE)
    target_compile_definitions(upstop_test_flags INTERFACE UPSTOP_SANITIZED=1)
endif()

pkg_check_modules(CMOCKA IMPORTED_TARGET cmocka)
if(NOT CMOCKA_FOUND)
    upstop_missing("the test programs need cmocka")
endif()

# SUNDIALS, with which tests/reference and bench compare. Its own CMake package asks for every back end it was built
# with, so the few libraries needed are looked up by name.
find_path(SUNDIALS_INCLUDE cvode/cvode.h)
set(SUNDIALS_LIBRARIES "")
foreach(part IN ITEMS cvode nvecserial sunmatrixdense sunlinsoldense)
    find_library(SUNDIALS_${part} sundials_${part})
    if(SUNDIALS_${part})
        list(APPEND SUNDIALS_LIBRARIES "${SUNDIALS_${part}}")
    endif()
endforeach()
list(LENGTH SUNDIALS_LIBRARIES count)
set(UPSTOP_HAVE_SUNDIALS OFF)
if(SUNDIALS_INCLUDE AND count EQUAL 4)
    set(UPSTOP_HAVE_SUNDIALS ON)
    add_library(upstop_sundials INTERFACE)
    target_include_directories(upstop_sundials SYSTEM INTERFACE "${SUNDIALS_INCLUDE}")
    target_link_libraries(upstop_sundials INTERFACE ${SUNDIALS_LIBRARIES})
endif()

# A static library of the given sources, or an empty target when there are none.
function(upstop_helpers target)
    cmake_parse_arguments(PARSE_ARGV 1 helpers "" "" "SOURCES;LINK")
    if(helpers_SOURCES)
        add_library(${target} STATIC ${helpers_SOURCES})
        target_link_libraries(${target} PRIVATE upstop_test_flags PUBLIC ${helpers_LINK})
    else()
        add_library(${target} INTERFACE)
        target_link_libraries(${target} INTERFACE ${helpers_LINK})
    endif()
endfunction()

file(GLOB support CONFIGURE_DEPENDS "${PROJECT_SOURCE_DIR}/tests/support/*.c")
upstop_helpers(upstop_test_support SOURCES ${support} LINK upstop_io)

function(upstop_test_programs kind)
    set(folder "${PROJECT_SOURCE_DIR}/tests/${kind}")
    file(GLOB_RECURSE sources CONFIGURE_DEPENDS "${folder}/*.c")
    set(programs ${sources})
    list(FILTER programs INCLUDE REGEX "_test\\.c$")
    list(FILTER sources EXCLUDE REGEX "_test\\.c$")
    upstop_helpers(upstop_test_${kind} SOURCES ${sources} LINK upstop_test_support ${ARGN})
    if(NOT CMOCKA_FOUND)
        return()
    endif()
    foreach(source IN LISTS programs)
        file(RELATIVE_PATH path "${folder}" "${source}")
        string(REGEX REPLACE "_test\\.c$" "" name "${path}")
        string(REPLACE "/" "_" target "test_${kind}_${name}")
        add_executable(${target} "${source}")
        target_link_libraries(${target} PRIVATE upstop_test_flags upstop_test_${kind} PkgConfig::CMOCKA
                                                Threads::Threads)
        set_target_properties(${target} PROPERTIES RUNTIME_OUTPUT_DIRECTORY "${PROJECT_BINARY_DIR}/tests/${kind}")
        upstop_case("${kind}/${name}" ${kind} ${target})
    endforeach()
endfunction()

foreach(kind IN ITEMS unit answers laws)
    upstop_test_programs(${kind})
endforeach()
if(UPSTOP_HAVE_SUNDIALS)
    upstop_test_programs(reference upstop_sundials)
else()
    upstop_missing("tests/reference needs SUNDIALS")
endif()

# ---- commands ----------------------------------------------------------------------------------------------------
find_program(UPSTOP_BASH bash)
file(GLOB scripts CONFIGURE_DEPENDS "${PROJECT_SOURCE_DIR}/tests/commands/*.sh")
if(TARGET upstop)
    foreach(script IN LISTS scripts)
        get_filename_component(name "${script}" NAME_WE)
        if(NOT name MATCHES "^_")
            upstop_case("commands/${name}" commands "${UPSTOP_BASH}" "${script}")
        endif()
    endforeach()
endif()

# ---- fuzzers -----------------------------------------------------------------------------------------------------
file(GLOB fuzzers CONFIGURE_DEPENDS "${PROJECT_SOURCE_DIR}/tests/fuzz/*_fuzz.c")
foreach(source IN LISTS fuzzers)
    get_filename_component(name "${source}" NAME_WE)
    string(REGEX REPLACE "_fuzz$" "" name "${name}")
    set(corpus "${PROJECT_SOURCE_DIR}/tests/fuzz/corpus/${name}")
    set(target fuzz_${name})
    if(UPSTOP_FUZZ)
        add_executable(${target} "${source}")
        target_link_options(${target} PRIVATE -fsanitize=fuzzer)
        upstop_case("fuzz/${name}-search" fuzz "${UPSTOP_BASH}" "${PROJECT_SOURCE_DIR}/tools/run-fuzzer"
                    "$<TARGET_FILE:${target}>" "${corpus}" "${UPSTOP_SCRATCH}/fuzz-${name}")
    else()
        add_executable(${target} "${source}" "${PROJECT_SOURCE_DIR}/tests/fuzz/replay.c")
    endif()
    target_link_libraries(${target} PRIVATE upstop_test_flags upstop_test_support Threads::Threads)
    set_target_properties(${target} PROPERTIES RUNTIME_OUTPUT_DIRECTORY "${PROJECT_BINARY_DIR}/tests/fuzz")
    file(GLOB inputs CONFIGURE_DEPENDS "${corpus}/*")
    if(inputs)
        upstop_case("fuzz/${name}-replay" fuzz ${target} ${inputs})
    endif()
endforeach()

include(upstop_detector_tests)

# ---- WebAssembly -------------------------------------------------------------------------------------------------
file(GLOB scripts CONFIGURE_DEPENDS "${PROJECT_SOURCE_DIR}/tests/wasm/*.mjs")
list(FILTER scripts EXCLUDE REGEX "/_[^/]*$")
if(UPSTOP_WASM_MODULE AND scripts)
    find_program(UPSTOP_NODE NAMES node nodejs)
    set(twin "")
    if(EXISTS "${PROJECT_SOURCE_DIR}/tests/wasm/native.c")
        add_executable(wasm_native "${PROJECT_SOURCE_DIR}/tests/wasm/native.c")
        target_link_libraries(wasm_native PRIVATE upstop_test_flags upstop_wasm_twin upstop_test_support)
        set_target_properties(wasm_native PROPERTIES RUNTIME_OUTPUT_DIRECTORY "${PROJECT_BINARY_DIR}/tests/wasm")
        set(twin "$<TARGET_FILE:wasm_native>")
    endif()
    if(UPSTOP_NODE)
        foreach(script IN LISTS scripts)
            get_filename_component(name "${script}" NAME_WE)
            upstop_case("wasm/${name}" wasm "${UPSTOP_NODE}" "${script}" "${UPSTOP_WASM_MODULE}" ${twin})
        endforeach()
    else()
        upstop_missing("tests/wasm needs Node.js")
    endif()
endif()

# ---- what is written down agrees with the code; the same bits from every compiler ----------------------------------
# Once is enough, so the release build does it: tools/digest builds the core by itself at several levels.
if(NOT UPSTOP_SANITIZE AND NOT UPSTOP_COVERAGE)
    if(TARGET upstop)
        upstop_case("docs/entry-table" docs "${UPSTOP_BASH}" "${PROJECT_SOURCE_DIR}/tools/renew-entry-table" --check
                    "$<TARGET_FILE:upstop>")
        upstop_case("docs/readme" docs "${UPSTOP_BASH}" "${PROJECT_SOURCE_DIR}/tools/renew-readme" --check
                    "$<TARGET_FILE:upstop>")
    endif()
    upstop_case("docs/model-example" docs "${UPSTOP_BASH}" "${PROJECT_SOURCE_DIR}/tools/renew-model-example" --check
                "${PROJECT_BINARY_DIR}")
    upstop_case("docs/recordings" docs "${UPSTOP_BASH}" "${PROJECT_SOURCE_DIR}/tools/make-recordings" --check
                "${PROJECT_BINARY_DIR}")
    upstop_case("laws/digest-everywhere" laws "${UPSTOP_BASH}" "${PROJECT_SOURCE_DIR}/tools/digest" compare)
    if(UPSTOP_STRICT)
        set_property(TEST "laws/digest-everywhere" APPEND PROPERTY ENVIRONMENT "UPSTOP_DIGEST_STRICT=1")
    endif()
endif()

# ---- the ground itself -------------------------------------------------------------------------------------------
include(CheckLanguage)
check_language(CXX)
if(NOT CMAKE_CXX_COMPILER)
    upstop_missing("the test of the headers needs a C++ compiler")
endif()
set(tools "${PROJECT_SOURCE_DIR}/tools")
upstop_case("ground/includes" ground "${UPSTOP_BASH}" "${tools}/check-includes")
upstop_case("ground/includes-notices" ground "${UPSTOP_BASH}" "${PROJECT_SOURCE_DIR}/tests/ground/includes-notices.sh")
if(NOT UPSTOP_SANITIZE AND NOT UPSTOP_COVERAGE AND UPSTOP_SOURCES_core)
    set(archives "core=$<TARGET_FILE:upstop_core>")
    if(UPSTOP_SOURCES_detector)
        list(APPEND archives "detector=$<TARGET_FILE:upstop_detector>")
    endif()
    if(UPSTOP_SOURCES_analysis)
        list(APPEND archives "analysis=$<TARGET_FILE:upstop_analysis>")
    endif()
    upstop_case("ground/symbols" ground "${UPSTOP_BASH}" "${tools}/check-symbols" ${archives})
    upstop_case("ground/symbols-notices" ground "${UPSTOP_BASH}"
                "${PROJECT_SOURCE_DIR}/tests/ground/symbols-notices.sh" "${CMAKE_C_COMPILER}")
    if(CMAKE_CXX_COMPILER)
        upstop_case("ground/headers-alone" ground "${UPSTOP_BASH}" "${tools}/check-headers" "${CMAKE_C_COMPILER}"
                    "${CMAKE_CXX_COMPILER}")
        upstop_case("ground/installed" ground "${UPSTOP_BASH}" "${PROJECT_SOURCE_DIR}/tests/ground/installed.sh"
                    "${CMAKE_COMMAND}" "${CMAKE_C_COMPILER}" "${CMAKE_CXX_COMPILER}")
    endif()
endif()
