# What is installed: the program, one archive a layer, the headers under include/upstop/ with the paths they are
# included by, and two pkg-config files: upstop (detector, core, analysis: needs libm and KISS FFT) and upstop-io.

# The prefix in the pkg-config files is told from where they lie, so an installed tree can be moved.
file(RELATIVE_PATH UPSTOP_PC_TO_PREFIX "/prefix/${CMAKE_INSTALL_LIBDIR}/pkgconfig" "/prefix")

function(upstop_pkgconfig pc_name pc_description pc_libs pc_requires)
    configure_file("${PROJECT_SOURCE_DIR}/upstop.pc.in" "${PROJECT_BINARY_DIR}/${pc_name}.pc" @ONLY)
    install(FILES "${PROJECT_BINARY_DIR}/${pc_name}.pc" DESTINATION "${CMAKE_INSTALL_LIBDIR}/pkgconfig")
endfunction()

# The -l flags of the given layers that have an archive.
function(upstop_link_flags result)
    set(flags "")
    foreach(layer IN LISTS ARGN)
        if(UPSTOP_SOURCES_${layer})
            list(APPEND flags "-lupstop_${layer}")
            install(TARGETS upstop_${layer} ARCHIVE DESTINATION "${CMAKE_INSTALL_LIBDIR}")
        endif()
    endforeach()
    list(JOIN flags " " flags)
    set(${result} "${flags}" PARENT_SCOPE)
endfunction()

upstop_link_flags(libs analysis core detector)
list(JOIN UPSTOP_ANALYSIS_MODULES " " modules)
upstop_pkgconfig(upstop "How a motor-driven door window moves: pinch detector, simulation core and analysis"
                 "${libs} -lm" "${modules}")
upstop_link_flags(libs io)
list(JOIN UPSTOP_IO_MODULES " " modules)
upstop_pkgconfig(upstop-io "upstop's door sheets, tables and pictures" "${libs} -ludunits2" "upstop ${modules}")

foreach(layer IN ITEMS detector core analysis io)
    install(DIRECTORY "${PROJECT_SOURCE_DIR}/${layer}" DESTINATION "${CMAKE_INSTALL_INCLUDEDIR}/upstop"
            FILES_MATCHING PATTERN "*.h" PATTERN "*.def")
endforeach()
if(TARGET upstop)
    install(TARGETS upstop RUNTIME DESTINATION "${CMAKE_INSTALL_BINDIR}")
endif()
if(TARGET upstop-ranks)
    install(TARGETS upstop-ranks RUNTIME DESTINATION "${CMAKE_INSTALL_BINDIR}")
endif()
install(FILES "${PROJECT_SOURCE_DIR}/LICENSE" DESTINATION "${CMAKE_INSTALL_DOCDIR}")
