// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/stages/pixel_gate.h"

#include <gtest/gtest.h>

#include <atomic>
#include <barrier>
#include <thread>
#include <vector>

namespace chalkfold::job {
namespace {

TEST(PixelGate, NeverLetsInMoreThanThereIsRoomFor) {
  constexpr long long room = 100;
  PixelGate gate(room);
  std::atomic<long long> inside{0}, most{0};
  std::vector<std::thread> threads;
  for (int t = 0; t < 4; ++t) {
    threads.emplace_back([&, t] {
      for (int i = 0; i < 200; ++i) {
        const long long bytes = 1 + (7 * i + 31 * t) % room;
        const PixelGate::Pass pass(gate, bytes);
        const long long now = inside += bytes;
        long long seen = most;
        while (now > seen && !most.compare_exchange_weak(seen, now)) {
        }
        inside -= bytes;
      }
    });
  }
  for (std::thread& thread : threads) thread.join();
  EXPECT_LE(most, room);
}

/// Each holds its pass until the other has one too: a gate that lets in one at a time would never let them go.
TEST(PixelGate, LetsInAsManyAsThereIsRoomFor) {
  PixelGate gate(100);
  std::barrier both(2);
  std::thread other([&] {
    const PixelGate::Pass pass(gate, 50);
    both.arrive_and_wait();
  });
  {
    const PixelGate::Pass pass(gate, 50);
    both.arrive_and_wait();
  }
  other.join();
}

TEST(PixelGate, TellsWhatCouldNeverPass) {
  const PixelGate gate(100);
  EXPECT_TRUE(gate.fits(100));
  EXPECT_FALSE(gate.fits(101));
}

}  // namespace
}  // namespace chalkfold::job
