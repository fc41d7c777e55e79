# Tests of the detector as a part of its own:
#
#   tests/detector/<name>_test.c   a cmocka program, case detector/<name>
#   detector/eva                   no undefined behaviour and no overflow for any input (Frama-C Eva), tools/detector-proof
#   detector/qemu                  the same answers and state on an emulated Cortex-M0 as here, tools/detector-vectors
#   detector/cost                  flash, RAM, instructions against their limits, tools/detector-cost

set(folder "${PROJECT_SOURCE_DIR}/tests/detector")
set(UPSTOP_DETECTOR_PROGRAMS "${PROJECT_BINARY_DIR}/tests/detector")
add_library(upstop_test_detector STATIC "${folder}/any_settings.c" "${folder}/calls.c" "${folder}/drive.c")
target_link_libraries(upstop_test_detector PRIVATE upstop_test_flags PUBLIC upstop_analysis)

if(CMOCKA_FOUND)
    file(GLOB programs CONFIGURE_DEPENDS "${folder}/*_test.c")
    foreach(source IN LISTS programs)
        get_filename_component(name "${source}" NAME_WE)
        string(REGEX REPLACE "_test$" "" name "${name}")
        set(target "test_detector_${name}")
        add_executable(${target} "${source}")
        target_link_libraries(${target} PRIVATE upstop_test_flags upstop_test_detector PkgConfig::CMOCKA)
        set_target_properties(${target} PROPERTIES RUNTIME_OUTPUT_DIRECTORY "${UPSTOP_DETECTOR_PROGRAMS}")
        upstop_case("detector/${name}" detector ${target})
    endforeach()
endif()

if(UPSTOP_SANITIZE OR UPSTOP_COVERAGE)
    return() # once is enough
endif()

# ---- vectors -------------------------------------------------------------------------------------------------------
# The calls that simulated closings make of the detector are caught by the linker.
add_executable(detector_vectors "${folder}/make_vectors.c" "${PROJECT_SOURCE_DIR}/tests/reference/doors.c")
target_link_libraries(detector_vectors PRIVATE upstop_test_flags upstop_test_detector upstop_io)
foreach(name IN ITEMS memory_start start edge tick moved closed worn_knots)
    target_link_options(detector_vectors PRIVATE "LINKER:--wrap=up_detector_${name}")
endforeach()
add_executable(detector_replay "${folder}/replay.c")
target_link_libraries(detector_replay PRIVATE upstop_test_flags upstop_test_detector)
set_target_properties(detector_vectors detector_replay PROPERTIES
                      RUNTIME_OUTPUT_DIRECTORY "${UPSTOP_DETECTOR_PROGRAMS}")

find_program(UPSTOP_ARM_GCC arm-none-eabi-gcc)
find_program(UPSTOP_QEMU_ARM qemu-system-arm)
if(UPSTOP_ARM_GCC AND UPSTOP_QEMU_ARM)
    foreach(name IN ITEMS vectors cost)
        string(REPLACE vectors qemu case "${name}")
        upstop_case("detector/${case}" detector "${UPSTOP_BASH}" "${PROJECT_SOURCE_DIR}/tools/detector-${name}"
                    "$<TARGET_FILE:detector_vectors>" "$<TARGET_FILE:detector_replay>")
    endforeach()
else()
    upstop_missing("the detector on a chip needs arm-none-eabi-gcc and qemu-system-arm")
endif()

# ---- proof ---------------------------------------------------------------------------------------------------------
find_program(UPSTOP_FRAMA_C frama-c)
if(UPSTOP_FRAMA_C)
    upstop_case("detector/eva" detector "${UPSTOP_BASH}" "${PROJECT_SOURCE_DIR}/tools/detector-proof")
else()
    upstop_missing("the proof of the detector needs Frama-C")
endif()
