// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <string>

namespace chalkfold::job {

/// Told how far a run has come. Calls come one at a time, from whichever thread finished something.
class Progress {
 public:
  virtual ~Progress() = default;
  /// A stretch of `total` items begins: "reading photos".
  virtual void begin(const std::string& what, std::size_t total) = 0;
  /// One more item of it is done.
  virtual void advance(const std::string& item) = 0;
  /// The stretch is over; also called before an exception leaves the run.
  virtual void end() = 0;
  /// The user wants the run to stop as soon as what is in work is done. Asked from any thread.
  virtual bool stop_wanted() const { return false; }
};

/// Says nothing (`--quiet`).
class NoProgress : public Progress {
 public:
  void begin(const std::string&, std::size_t) override {}
  void advance(const std::string&) override {}
  void end() override {}
};

}  // namespace chalkfold::job
