# SPDX-License-Identifier: Apache-2.0
# How every target is compiled, and the two functions by which rooms and tests are declared.
include(CTest)
include(GNUInstallDirs)

set(CMAKE_CXX_STANDARD 20)
set(CMAKE_CXX_STANDARD_REQUIRED ON)
set(CMAKE_CXX_EXTENSIONS OFF)
set(CMAKE_EXPORT_COMPILE_COMMANDS ON)
if(NOT CMAKE_BUILD_TYPE)
  set(CMAKE_BUILD_TYPE Release)
endif()
# Byte-equal outputs on every machine: no contraction into fused multiply-add.
add_compile_options(-Wall -Wextra -Wpedantic -Wshadow -Wnon-virtual-dtor -Werror -ffp-contract=off)
if(CHALKFOLD_SANITIZE)
  add_compile_options(-fsanitize=address,undefined -fno-sanitize-recover=undefined -fno-omit-frame-pointer)
  add_link_options(-fsanitize=address,undefined)
endif()

find_program(CCACHE_PROGRAM ccache)
if(CCACHE_PROGRAM)
  # Without these two sloppiness settings ccache refuses translation units with a precompiled header.
  set(CMAKE_CXX_COMPILER_LAUNCHER ${CMAKE_COMMAND} -E env CCACHE_SLOPPINESS=pch_defines,time_macros ${CCACHE_PROGRAM})
  if(CMAKE_CXX_COMPILER_ID STREQUAL GNU)
    add_compile_options(-fpch-preprocess)
  endif()
endif()

# chalkfold_room(NAME SOURCES ... [PUBLIC libs...] [PRIVATE libs...] [PCH headers...])
# One library a room, chalkfold::NAME, included from the top of the tree ("pipeline/capture/photo.h").
function(chalkfold_room name)
  cmake_parse_arguments(ROOM "" "" "SOURCES;PUBLIC;PRIVATE;PCH" ${ARGN})
  add_library(chalkfold_${name} STATIC ${ROOM_SOURCES})
  add_library(chalkfold::${name} ALIAS chalkfold_${name})
  target_include_directories(chalkfold_${name} PUBLIC ${PROJECT_SOURCE_DIR})
  target_link_libraries(chalkfold_${name} PUBLIC ${ROOM_PUBLIC} PRIVATE ${ROOM_PRIVATE})
  if(ROOM_PCH)
    target_precompile_headers(chalkfold_${name} PRIVATE ${ROOM_PCH})
  endif()
endfunction()

# chalkfold_test(NAME SOURCES ... LINK libs... [LABELS ...] [TIMEOUT s])
# One GoogleTest program; every TEST becomes a ctest case. CHALKFOLD_SHARED_DIR and CHALKFOLD_SOURCE_DIR reach it as macros.
function(chalkfold_test name)
  cmake_parse_arguments(T "" "TIMEOUT" "SOURCES;LINK;LABELS;PCH" ${ARGN})
  add_executable(${name} ${T_SOURCES})
  target_link_libraries(${name} PRIVATE ${T_LINK} GTest::gtest_main GTest::gmock)
  target_compile_definitions(${name} PRIVATE
    CHALKFOLD_SOURCE_DIR="${PROJECT_SOURCE_DIR}"
    CHALKFOLD_BINARY_DIR="${PROJECT_BINARY_DIR}"
    CHALKFOLD_PROGRAM="$<TARGET_FILE:chalkfold>")
  add_dependencies(${name} chalkfold)
  if(T_PCH)
    target_precompile_headers(${name} PRIVATE ${T_PCH})
  endif()
  if(NOT T_TIMEOUT)
    set(T_TIMEOUT 120)
  endif()
  gtest_discover_tests(${name} DISCOVERY_MODE PRE_TEST
    PROPERTIES TIMEOUT ${T_TIMEOUT} LABELS "${T_LABELS}" SKIP_REGULAR_EXPRESSION "SKIPPED")
endfunction()
