# The layers as targets: detector <- core <- analysis <- io <- program.
#
# tools/check-includes fails on an include against the arrows, tools/check-symbols on a call the core may not make.

function(upstop_layer name)
    cmake_parse_arguments(PARSE_ARGV 1 layer "" "" "FOLDERS;LINK;POSIX")
    set(patterns "")
    foreach(folder IN LISTS layer_FOLDERS)
        list(APPEND patterns "${PROJECT_SOURCE_DIR}/${folder}/*.c")
    endforeach()
    file(GLOB_RECURSE sources CONFIGURE_DEPENDS ${patterns})
    set(UPSTOP_SOURCES_${name} "${sources}" PARENT_SCOPE)
    if(NOT sources)
        # A layer of headers only, or one that has no file yet.
        add_library(upstop_${name} INTERFACE)
        target_link_libraries(upstop_${name} INTERFACE ${layer_LINK})
        target_include_directories(upstop_${name} INTERFACE "$<BUILD_INTERFACE:${PROJECT_SOURCE_DIR}>")
        return()
    endif()
    add_library(upstop_${name} STATIC ${sources})
    target_link_libraries(upstop_${name} PRIVATE upstop_flags PUBLIC ${layer_LINK})
    target_include_directories(upstop_${name} PUBLIC "$<BUILD_INTERFACE:${PROJECT_SOURCE_DIR}>")
endfunction()

find_library(UPSTOP_LIBM m)
set(UPSTOP_M "")
if(UPSTOP_LIBM)
    set(UPSTOP_M m)
endif()

upstop_layer(detector FOLDERS detector)
upstop_layer(core FOLDERS core LINK upstop_detector ${UPSTOP_M})

# KISS FFT: the spectra of analysis/fit (see docs/dependencies.md).
find_package(PkgConfig REQUIRED)
set(UPSTOP_ANALYSIS_MODULES kissfft-float)
pkg_check_modules(UPSTOP_ANALYSIS REQUIRED IMPORTED_TARGET ${UPSTOP_ANALYSIS_MODULES})
upstop_layer(analysis FOLDERS analysis LINK upstop_core PkgConfig::UPSTOP_ANALYSIS)

# ---- what io builds on: see docs/dependencies.md ---------------------------------------------------------------
find_package(Threads REQUIRED)
set(UPSTOP_IO_MODULES libfyaml jansson cairo sqlite3 matio sndfile)
pkg_check_modules(UPSTOP_IO REQUIRED IMPORTED_TARGET ${UPSTOP_IO_MODULES})
# UDUNITS-2 comes without a pkg-config file in Debian.
find_path(UDUNITS2_INCLUDE udunits2.h PATH_SUFFIXES udunits2 REQUIRED)
find_library(UDUNITS2_LIBRARY udunits2 REQUIRED)

upstop_layer(io FOLDERS io LINK upstop_analysis PkgConfig::UPSTOP_IO "${UDUNITS2_LIBRARY}")
get_target_property(kind upstop_io TYPE)
if(kind STREQUAL "STATIC_LIBRARY")
    target_link_libraries(upstop_io PRIVATE upstop_posix)
    target_include_directories(upstop_io SYSTEM PRIVATE "${UDUNITS2_INCLUDE}")
endif()

# ---- the program ------------------------------------------------------------------------------------------------
file(GLOB_RECURSE UPSTOP_CLI_SOURCES CONFIGURE_DEPENDS "${PROJECT_SOURCE_DIR}/apps/cli/*.c")
if(UPSTOP_CLI_SOURCES)
    add_executable(upstop ${UPSTOP_CLI_SOURCES})
    target_link_libraries(upstop PRIVATE upstop_flags upstop_posix upstop_io Threads::Threads)
    target_compile_definitions(upstop PRIVATE UPSTOP_VERSION="${PROJECT_VERSION}")
    set_target_properties(upstop PROPERTIES RUNTIME_OUTPUT_DIRECTORY "${PROJECT_BINARY_DIR}")
endif()

# The same campaigns on many machines: everything of the program but its main, and apps/ranks, the only place with MPI.
find_package(MPI QUIET COMPONENTS C)
file(GLOB UPSTOP_RANKS_SOURCES CONFIGURE_DEPENDS "${PROJECT_SOURCE_DIR}/apps/ranks/*.c")
if(MPI_C_FOUND AND UPSTOP_RANKS_SOURCES)
    set(sources ${UPSTOP_CLI_SOURCES})
    list(FILTER sources EXCLUDE REGEX "/main\\.c$")
    add_executable(upstop-ranks ${UPSTOP_RANKS_SOURCES} ${sources})
    target_link_libraries(upstop-ranks PRIVATE upstop_flags upstop_posix upstop_io Threads::Threads MPI::MPI_C)
    target_compile_definitions(upstop-ranks PRIVATE UPSTOP_VERSION="${PROJECT_VERSION}" OMPI_SKIP_MPICXX=1)
    set_target_properties(upstop-ranks PROPERTIES RUNTIME_OUTPUT_DIRECTORY "${PROJECT_BINARY_DIR}")
else()
    upstop_missing("campaigns over many machines need MPI")
endif()
