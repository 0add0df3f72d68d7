// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <condition_variable>
#include <mutex>

namespace chalkfold::job {

/// Lets decoded photos into memory only while there is room for them. Thread-safe.
class PixelGate {
 public:
  /// `bytes`: room for decoded pixels.
  explicit PixelGate(long long bytes) : room_(bytes), free_(bytes) {}

  bool fits(long long bytes) const { return bytes <= room_; }

  /// Room held by one photo until the object goes.
  class Pass {
   public:
    Pass(PixelGate& gate, long long bytes) : gate_(gate), bytes_(bytes) {
      std::unique_lock lock(gate_.mutex_);
      gate_.changed_.wait(lock, [&] { return gate_.free_ >= bytes_; });
      gate_.free_ -= bytes_;
    }
    ~Pass() {
      {
        const std::lock_guard lock(gate_.mutex_);
        gate_.free_ += bytes_;
      }
      gate_.changed_.notify_all();
    }
    Pass(const Pass&) = delete;
    Pass& operator=(const Pass&) = delete;

   private:
    PixelGate& gate_;
    long long bytes_;
  };

 private:
  const long long room_;
  long long free_;
  std::mutex mutex_;
  std::condition_variable changed_;
};

}  // namespace chalkfold::job
