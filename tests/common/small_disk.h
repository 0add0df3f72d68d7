// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <sys/mount.h>

#include <cerrno>
#include <cstring>
#include <string>

#include "tests/common/run_program.h"

namespace chalkfold::test {

/// A memory disk of a few kilobytes, to be filled up. Mounting needs rights that not every machine gives: ask mounted()
/// and say why() when skipping.
class SmallDisk {
 public:
  explicit SmallDisk(int kilobytes) {
    const std::string size = "size=" + std::to_string(kilobytes) + "k";
    mounted_ = ::mount("tmpfs", folder_.path().c_str(), "tmpfs", 0, size.c_str()) == 0;
    if (!mounted_) why_ = std::string("a small disk cannot be mounted here: ") + std::strerror(errno);
  }
  ~SmallDisk() {
    if (mounted_) ::umount2(folder_.path().c_str(), MNT_DETACH);
  }
  SmallDisk(const SmallDisk&) = delete;
  SmallDisk& operator=(const SmallDisk&) = delete;
  bool mounted() const { return mounted_; }
  const std::string& why() const { return why_; }
  const std::filesystem::path& path() const { return folder_.path(); }

  /// Fills the disk to its last byte with one file.
  void fill() const {
    std::ofstream stream(path() / "filler", std::ios::binary);
    const std::string block(1024, 'x');
    while (stream.write(block.data(), static_cast<std::streamsize>(block.size())).flush()) {
    }
  }

 private:
  TemporaryFolder folder_;
  bool mounted_ = false;
  std::string why_;
};

}  // namespace chalkfold::test
