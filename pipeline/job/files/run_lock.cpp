// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/files/run_lock.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <system_error>

#include "pipeline/common/error.h"
#include "pipeline/common/utf8.h"
#include "pipeline/common/write_file.h"

namespace chalkfold::job {
namespace {
namespace fs = std::filesystem;

std::string owner_in(int descriptor) {
  std::array<char, 200> text{};
  const ssize_t size = ::pread(descriptor, text.data(), text.size() - 1, 0);
  std::string owner = size > 0 ? std::string(text.data(), static_cast<std::size_t>(size)) : "";
  while (!owner.empty() && owner.back() == '\n') owner.pop_back();
  return owner.empty() ? "it does not say which" : plain_text(owner);
}

std::string self() {
  std::array<char, 256> host{};
  if (::gethostname(host.data(), host.size() - 1) != 0) host[0] = '\0';
  return fmt::format("process {} on {}\n", ::getpid(), host.data());
}

/// As write_file_atomically names them.
bool is_temporary(const fs::path& file) {
  const std::string name = file.filename().string();
  constexpr std::string_view start = ".chalkfold-";
  constexpr std::size_t random_letters = 6;
  return name.size() == start.size() + random_letters && name.starts_with(start);
}

}  // namespace

fs::path state_folder(const fs::path& out) { return out / ".chalkfold"; }

RunLock::RunLock(const fs::path& out) {
  make_folder(out);
  make_folder(state_folder(out));
  const fs::path file = state_folder(out) / "lock";
  descriptor_ = ::open(file.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0644);
  if (descriptor_ < 0) {
    throw FileError(fmt::format("Cannot write {}: {}. Choose a folder that you may write to.",
                                plain_text(file.string()), std::generic_category().message(errno)));
  }
  if (::flock(descriptor_, LOCK_EX | LOCK_NB) != 0 && errno == EWOULDBLOCK) {
    const std::string owner = owner_in(descriptor_);
    ::close(descriptor_);
    throw FileError(fmt::format("Another run is writing into {} ({}). Wait until it is done, or choose another folder.",
                                plain_text(out.string()), owner));
  }
  // A file system without locks: two runs at once cannot be told there.
  const std::string own = self();
  if (::ftruncate(descriptor_, 0) != 0 || ::pwrite(descriptor_, own.data(), own.size(), 0) < 0) {
    const int reason = errno;
    ::close(descriptor_);
    throw FileError(fmt::format("Cannot write {}: {}. Free some space on that disk, or choose another folder.",
                                plain_text(file.string()), std::generic_category().message(reason)));
  }
}

RunLock::~RunLock() {
  // The file stays: removing it would let two runs hold two files of one name.
  if (::ftruncate(descriptor_, 0) != 0) {
  }
  ::close(descriptor_);
}

void remove_stale_temporaries(const fs::path& out) {
  std::error_code none;
  constexpr int deepest = 2;  // pictures/marks
  for (auto entry = fs::recursive_directory_iterator(out, fs::directory_options::skip_permission_denied, none);
       entry != fs::recursive_directory_iterator(); entry.increment(none)) {
    if (none) return;
    if (entry.depth() >= deepest) entry.disable_recursion_pending();
    if (is_temporary(entry->path()) && entry->is_regular_file(none)) fs::remove(entry->path(), none);
  }
}

}  // namespace chalkfold::job
