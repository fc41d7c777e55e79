# The core in WebAssembly: detector + core + apps/wasm/*.c become one module, build/wasm/upstop.wasm.
#
# clang's wasm32-wasi target with wasi-libc supplies the headers and memcpy, memset; nothing of WASI itself is called,
# so the module must come out with no import at all (the linker is told to refuse any). It runs in a browser or under
# Node.js with WebAssembly.instantiate(bytes, {}). Functions to be called from outside carry
# __attribute__((export_name("..."))).
set(UPSTOP_WASM_MODULE "")
if(NOT UPSTOP_WASM)
    return()
endif()

file(GLOB UPSTOP_WASM_SOURCES CONFIGURE_DEPENDS "${PROJECT_SOURCE_DIR}/apps/wasm/*.c")
if(NOT UPSTOP_WASM_SOURCES)
    return()
endif()

find_program(UPSTOP_WASM_CLANG NAMES clang clang-14)
find_program(UPSTOP_WASM_LD NAMES wasm-ld wasm-ld-14)
find_file(UPSTOP_WASM_LIBC libc.a PATHS /usr/lib/wasm32-wasi NO_DEFAULT_PATH)
if(NOT UPSTOP_WASM_CLANG OR NOT UPSTOP_WASM_LD OR NOT UPSTOP_WASM_LIBC)
    upstop_missing("the WebAssembly build needs clang, lld and wasi-libc")
    return()
endif()

set(flags --target=wasm32-wasi -std=c17 -O2 ${UPSTOP_NUMBER_FLAGS} ${UPSTOP_WARNING_FLAGS} -fvisibility=hidden
          -I "${PROJECT_SOURCE_DIR}")
# clang warns that its WebAssembly target has no trapping mode to switch off.
list(REMOVE_ITEM flags -fno-trapping-math)
set(objects "")
foreach(source IN LISTS UPSTOP_SOURCES_detector UPSTOP_SOURCES_core UPSTOP_WASM_SOURCES)
    file(RELATIVE_PATH path "${PROJECT_SOURCE_DIR}" "${source}")
    set(object "${PROJECT_BINARY_DIR}/wasm/${path}.o")
    get_filename_component(folder "${object}" DIRECTORY)
    file(MAKE_DIRECTORY "${folder}")
    add_custom_command(
        OUTPUT "${object}"
        COMMAND "${UPSTOP_WASM_CLANG}" ${flags} -MD -MT "${object}" -MF "${object}.d" -c "${source}" -o "${object}"
        DEPENDS "${source}" DEPFILE "${object}.d" COMMENT "WebAssembly: ${path}" VERBATIM)
    list(APPEND objects "${object}")
endforeach()

set(UPSTOP_WASM_MODULE "${PROJECT_BINARY_DIR}/wasm/upstop.wasm")
add_custom_command(
    OUTPUT "${UPSTOP_WASM_MODULE}"
    COMMAND "${UPSTOP_WASM_CLANG}" --target=wasm32-wasi -nostartfiles -Wl,--no-entry -Wl,--gc-sections
            -Wl,-z,stack-size=1048576 ${objects} -o "${UPSTOP_WASM_MODULE}"
    DEPENDS ${objects} COMMENT "WebAssembly: upstop.wasm" VERBATIM)
add_custom_target(upstop_wasm ALL DEPENDS "${UPSTOP_WASM_MODULE}")

# The same calls built for this machine, so that a test can hold the two against each other: apps/wasm/*.c as a library,
# and tests/wasm/native.c, when it is there, as the program that prints what the module's functions return here.
add_library(upstop_wasm_twin STATIC ${UPSTOP_WASM_SOURCES})
target_link_libraries(upstop_wasm_twin PRIVATE upstop_flags PUBLIC upstop_core)
# export_name means something to the WebAssembly target only.
target_compile_options(upstop_wasm_twin PRIVATE -Wno-attributes)
if(CMAKE_C_COMPILER_ID MATCHES "Clang")
    target_compile_options(upstop_wasm_twin PRIVATE -Wno-ignored-attributes -Wno-unknown-attributes)
endif()
