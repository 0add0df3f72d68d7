// SPDX-License-Identifier: Apache-2.0
#include "pipeline/common/write_file.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstdlib>
#include <string>
#include <system_error>

#include "pipeline/common/error.h"
#include "pipeline/common/utf8.h"

namespace chalkfold {

namespace {
namespace fs = std::filesystem;

std::string remedy_for(int reason) {
  switch (reason) {
    case ENOSPC:
    case EDQUOT:
      return "Free some space on that disk, or choose another folder.";
    case EROFS:
      return "The disk is read-only: choose a folder on another disk.";
    case ENAMETOOLONG:
      return "Give the photo a shorter file name.";
    default:
      return "Choose a folder that you may write to.";
  }
}

[[noreturn]] void fail(const std::string& what, const fs::path& path, int reason) {
  throw FileError(what + " " + plain_text(path.string()) + ": " + std::generic_category().message(reason) + ". " +
                  remedy_for(reason));
}

/// A file under a temporary name beside `target`, gone again unless it took the target's place.
class Temporary {
 public:
  explicit Temporary(const fs::path& target) : target_(target) {
    const fs::path folder = target.has_parent_path() ? target.parent_path() : fs::path(".");
    name_ = (folder / ".chalkfold-XXXXXX").string();
    descriptor_ = ::mkostemp(name_.data(), O_CLOEXEC);
    if (descriptor_ < 0) fail("Cannot write", target_, errno);
  }
  Temporary(const Temporary&) = delete;
  Temporary& operator=(const Temporary&) = delete;
  ~Temporary() {
    if (descriptor_ >= 0) ::close(descriptor_);
    if (!in_place_) ::unlink(name_.c_str());
  }

  void write(std::string_view bytes) {
    while (!bytes.empty()) {
      const ssize_t written = ::write(descriptor_, bytes.data(), bytes.size());
      if (written < 0 && errno == EINTR) continue;
      if (written < 0) fail("Cannot write", target_, errno);
      bytes.remove_prefix(static_cast<std::size_t>(written));
    }
  }

  void take_place(mode_t mode) {
    if (::fchmod(descriptor_, mode) != 0 || ::fsync(descriptor_) != 0) fail("Cannot write", target_, errno);
    const int closed = ::close(descriptor_);
    descriptor_ = -1;
    // Some network file systems tell of a full disk only now.
    if (closed != 0 || ::rename(name_.c_str(), target_.c_str()) != 0) fail("Cannot write", target_, errno);
    in_place_ = true;
  }

 private:
  fs::path target_;
  std::string name_;
  int descriptor_ = -1;
  bool in_place_ = false;
};

/// The user's file creation mask can only be read by setting it, which another thread might see; files of results are
/// no secret.
constexpr mode_t result_mode = 0644;
}  // namespace

void write_file_atomically(const fs::path& file, std::string_view bytes) {
  std::error_code none;
  const fs::path target = fs::is_symlink(file, none) ? fs::weakly_canonical(file, none) : file;
  const fs::file_status status = fs::status(target, none);
  if (fs::is_directory(status)) fail("Cannot write", file, EISDIR);
  if (fs::exists(status) && !fs::is_regular_file(status)) fail("Cannot write", file, EEXIST);
  Temporary temporary(target);
  temporary.write(bytes);
  temporary.take_place(result_mode);
}

void make_folder(const fs::path& folder) {
  std::error_code reason;
  fs::create_directories(folder, reason);
  if (reason) fail("Cannot make the folder", folder, reason.value());
  if (!fs::is_directory(folder, reason)) fail("Cannot make the folder", folder, ENOTDIR);
}

}  // namespace chalkfold
