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
  if(CMAKE_CXX_COMPILER_ID STREQUAL GNU)
    # With the sanitizers' own code in between, GCC 12 sees faults in std::string and std::regex that are none.
    add_compile_options(-Wno-maybe-uninitialized -Wno-array-bounds -Wno-restrict -Wno-stringop-overflow -Wno-stringop-overread)
  endif()
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

# A test's own code runs once: optimising it costs more than it gives. GCC 12 then sees faults in std::string that are none.
set(CHALKFOLD_TEST_OPTIONS -O1)
if(CMAKE_CXX_COMPILER_ID STREQUAL GNU)
  list(APPEND CHALKFOLD_TEST_OPTIONS -Wno-array-bounds -Wno-stringop-overflow -Wno-stringop-overread)
endif()

# What nearly every test includes, compiled once for all of them: the headers take longer than the tests do.
function(chalkfold_test_headers)
  add_library(chalkfold_test_headers OBJECT ${PROJECT_SOURCE_DIR}/tests/headers.cpp)
  target_link_libraries(chalkfold_test_headers PRIVATE GTest::gmock nlohmann_json::nlohmann_json opencv_core Eigen3::Eigen)
  target_compile_options(chalkfold_test_headers PRIVATE ${CHALKFOLD_TEST_OPTIONS})
  target_precompile_headers(chalkfold_test_headers PRIVATE
    <gmock/gmock.h> <gtest/gtest.h> <nlohmann/json.hpp> <opencv2/core.hpp> <Eigen/Dense> <filesystem> <map> <string> <vector>)
endfunction()

# chalkfold_test(NAME SOURCES ... LINK libs... [LABELS ...] [TIMEOUT s])
# One GoogleTest program; every TEST becomes a ctest case. CHALKFOLD_SHARED_DIR and CHALKFOLD_SOURCE_DIR reach it as macros.
function(chalkfold_test name)
  cmake_parse_arguments(T "" "TIMEOUT" "SOURCES;LINK;LABELS" ${ARGN})
  add_executable(${name} ${T_SOURCES})
  target_link_libraries(${name} PRIVATE ${T_LINK} GTest::gtest_main GTest::gmock)
  target_compile_definitions(${name} PRIVATE
    CHALKFOLD_SOURCE_DIR="${PROJECT_SOURCE_DIR}"
    CHALKFOLD_BINARY_DIR="${PROJECT_BINARY_DIR}"
    CHALKFOLD_PROGRAM="$<TARGET_FILE:chalkfold>")
  add_dependencies(${name} chalkfold)
  target_compile_options(${name} PRIVATE ${CHALKFOLD_TEST_OPTIONS})
  target_precompile_headers(${name} REUSE_FROM chalkfold_test_headers)
  if(NOT T_TIMEOUT)
    set(T_TIMEOUT 120)
  endif()
  gtest_discover_tests(${name} DISCOVERY_MODE PRE_TEST
    PROPERTIES TIMEOUT ${T_TIMEOUT} LABELS "${T_LABELS}" SKIP_REGULAR_EXPRESSION "SKIPPED"
      ENVIRONMENT "LSAN_OPTIONS=suppressions=${PROJECT_SOURCE_DIR}/cmake/leaks.supp")
endfunction()
