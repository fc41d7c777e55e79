# Benchmarks: bench/<name>_bench.c becomes build/bench/<name>_bench; other files in bench/ are helpers. They see
# SUNDIALS and the reference solver of tests/reference, so that bench and tests compare with one and the same thing.
if(NOT UPSTOP_TESTS)
    message(FATAL_ERROR "UPSTOP_BENCH needs UPSTOP_TESTS: both use the reference solver of tests/reference")
endif()
if(NOT UPSTOP_HAVE_SUNDIALS)
    message(FATAL_ERROR "the benchmarks need SUNDIALS; './dev setup' installs it")
endif()

file(GLOB helpers CONFIGURE_DEPENDS "${PROJECT_SOURCE_DIR}/bench/*.c")
set(programs ${helpers})
list(FILTER programs INCLUDE REGEX "_bench\\.c$")
list(FILTER helpers EXCLUDE REGEX "_bench\\.c$")
upstop_helpers(upstop_bench_helpers SOURCES ${helpers} LINK upstop_test_reference upstop_sundials)

foreach(source IN LISTS programs)
    get_filename_component(name "${source}" NAME_WE)
    add_executable(${name} "${source}")
    target_link_libraries(${name} PRIVATE upstop_test_flags upstop_bench_helpers Threads::Threads)
    set_target_properties(${name} PROPERTIES RUNTIME_OUTPUT_DIRECTORY "${PROJECT_BINARY_DIR}/bench")
endforeach()
