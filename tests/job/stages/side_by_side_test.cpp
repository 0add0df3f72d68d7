// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/stages/side_by_side.h"

#include <gtest/gtest.h>

#include <atomic>
#include <chrono>
#include <stdexcept>
#include <string>
#include <thread>
#include <vector>

namespace chalkfold::job {
namespace {

TEST(SideBySide, DoesEveryNumberOnceWithAnyNumberOfThreads) {
  for (const int threads : {1, 2, 7}) {
    std::vector<std::atomic<int>> done(100);
    for_each_number(done.size(), threads, [&](std::size_t i) { ++done[i]; });
    for (const auto& d : done) EXPECT_EQ(d, 1) << threads << " threads";
  }
  for_each_number(0, 2, [](std::size_t) { FAIL() << "there is nothing to do"; });
}

TEST(SideBySide, KeepsToItsThreads) {
  constexpr std::chrono::milliseconds long_enough(1);  // for a second thread to come, were it let
  for (const int threads : {1, 2}) {
    std::atomic<int> now{0}, most{0};
    for_each_number(64, threads, [&](std::size_t) {
      const int running = ++now;
      for (int known = most; running > known && !most.compare_exchange_weak(known, running);) continue;
      std::this_thread::sleep_for(long_enough);
      --now;
    });
    EXPECT_LE(most, threads);
  }
}

TEST(SideBySide, TheLeastNumberThatThrowsIsHeardAndThoseBelowItAreDone) {
  for (const int threads : {1, 2, 7}) {
    std::vector<std::atomic<int>> done(200);
    std::string heard;
    try {
      for_each_number(done.size(), threads, [&](std::size_t i) {
        if (i % 50 == 30) throw std::runtime_error(std::to_string(i));
        ++done[i];
      });
    } catch (const std::runtime_error& e) {
      heard = e.what();
    }
    EXPECT_EQ(heard, "30") << threads << " threads";
    for (std::size_t i = 0; i < 30; ++i) EXPECT_EQ(done[i], 1) << i;
  }
}

TEST(SideBySide, WhatFollowsAThrowIsLeftOut) {
  std::atomic<int> done{0};
  EXPECT_THROW(for_each_number(1000, 1,
                               [&](std::size_t i) {
                                 if (i == 10) throw std::runtime_error("ten");
                                 ++done;
                               }),
               std::runtime_error);
  EXPECT_EQ(done, 10);
}

}  // namespace
}  // namespace chalkfold::job
