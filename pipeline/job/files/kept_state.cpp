// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/files/kept_state.h"

#include <elf.h>
#include <fmt/format.h>
#include <link.h>

#include <cstring>
#include <fstream>
#include <iterator>
#include <span>
#include <string_view>

#include "pipeline/capture/sha256.h"
#include "pipeline/common/error.h"
#include "pipeline/common/write_file.h"
#include "pipeline/job/files/run_lock.h"

namespace chalkfold::job {
namespace {
namespace fs = std::filesystem;
using namespace std::string_view_literals;

std::string sha256_of(std::string_view bytes) {
  return capture::sha256_hex({reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size()});
}

std::optional<std::string> bytes_of(const fs::path& file) {
  std::ifstream stream(file, std::ios::binary);
  if (!stream) return std::nullopt;
  std::string bytes{std::istreambuf_iterator<char>(stream), std::istreambuf_iterator<char>()};
  if (stream.bad()) return std::nullopt;
  return bytes;
}

/// Of one of the program's segments of notes, whose notes follow each other: a header with the owner's name and what it tells, both filled up to `align` bytes.
std::string build_id_in(std::string_view notes, std::size_t align) {
  const auto filled_up = [&](std::size_t size) { return (size + align - 1) / align * align; };
  ElfW(Nhdr) note;
  while (notes.size() >= sizeof note) {
    std::memcpy(&note, notes.data(), sizeof note);
    const std::size_t tells = filled_up(sizeof note + note.n_namesz), end = filled_up(tells + note.n_descsz);
    if (end > notes.size()) break;
    if (note.n_type == NT_GNU_BUILD_ID && notes.substr(sizeof note, note.n_namesz) == "GNU\0"sv) {
      std::string id;
      for (const char byte : notes.substr(tells, note.n_descsz))
        id += fmt::format("{:02x}", static_cast<unsigned char>(byte));
      return id;
    }
    notes.remove_prefix(end);
  }
  return {};
}

/// Empty when the linker left none.
std::string build_id() {
  std::string id;
  const auto look = [](dl_phdr_info* loaded, std::size_t, void* found) {
    for (const ElfW(Phdr) & segment : std::span(loaded->dlpi_phdr, loaded->dlpi_phnum)) {
      if (segment.p_type != PT_NOTE) continue;
      const auto at = loaded->dlpi_addr + segment.p_vaddr;
      // NOLINTNEXTLINE(performance-no-int-to-ptr): the loader tells an address as a number
      const auto* first = reinterpret_cast<const char*>(at);
      const std::string_view notes(first, segment.p_memsz);
      auto& known = *static_cast<std::string*>(found);
      if (known.empty()) known = build_id_in(notes, segment.p_align == 8 ? 8 : 4);
    }
    return 1;  // the program comes first, its libraries after it
  };
  ::dl_iterate_phdr(look, &id);
  return id;
}

constexpr std::size_t checksum_length = 64;
constexpr const char* ending = ".kept";

}  // namespace

KeptState::KeptState(const fs::path& out, std::string maker, bool fresh)
    : folder_(state_folder(out)), maker_(std::move(maker)), fresh_(fresh) {}

std::string KeptState::key(std::string_view kind, const std::vector<std::string>& parts) const {
  std::string all = maker_;
  const auto add = [&](std::string_view part) {
    all += std::to_string(part.size());  // so that no two lists of parts read alike
    all += ':';
    all += part;
  };
  add(kind);
  for (const std::string& part : parts) add(part);
  return sha256_of(all);
}

fs::path KeptState::file_of(const std::string& key) const { return folder_ / (key.substr(0, 32) + ending); }

std::optional<std::string> KeptState::find(const std::string& key) {
  if (!keeps() || fresh_) return std::nullopt;
  auto bytes = bytes_of(file_of(key));
  // The file begins with the whole key and the checksum of the rest.
  if (!bytes || bytes->size() < 2 * checksum_length || !bytes->starts_with(key)) return std::nullopt;
  const std::string_view rest = std::string_view(*bytes).substr(2 * checksum_length);
  if (bytes->compare(checksum_length, checksum_length, sha256_of(rest)) != 0) return std::nullopt;
  const std::lock_guard lock(mutex_);
  used_.insert(file_of(key).filename().string());
  return std::string(rest);
}

void KeptState::keep(const std::string& key, const std::string& bytes) {
  if (!keeps()) return;
  try {
    write_file_atomically(file_of(key), key + sha256_of(bytes) + bytes);
  } catch (const FileError&) {
    return;
  }
  const std::lock_guard lock(mutex_);
  used_.insert(file_of(key).filename().string());
}

void KeptState::forget_others() {
  if (!keeps()) return;
  std::error_code none;
  std::vector<fs::path> others;
  for (const fs::directory_entry& entry : fs::directory_iterator(folder_, none))
    if (entry.path().extension() == ending && !used_.contains(entry.path().filename().string()))
      others.push_back(entry.path());
  for (const fs::path& file : others) fs::remove(file, none);
}

std::string checksum_of(const fs::path& file) {
  const auto bytes = bytes_of(file);
  return bytes ? sha256_of(*bytes) : std::string();
}

std::string own_checksum() {
  static const std::string checksum = [] {
    std::string id = build_id();
    return id.empty() ? checksum_of("/proc/self/exe") : id;
  }();
  return checksum;
}

}  // namespace chalkfold::job
