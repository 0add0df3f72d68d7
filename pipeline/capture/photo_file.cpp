// SPDX-License-Identifier: Apache-2.0
#include "pipeline/capture/photo_file.h"

#include <fmt/format.h>

#include <algorithm>
#include <cerrno>
#include <climits>
#include <cstdio>
#include <memory>
#include <span>
#include <string>
#include <system_error>

#include "pipeline/capture/image_header.h"

namespace chalkfold::capture {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t head_bytes = 512;  // enough to tell a picture, a film or a text

struct CloseFile {
  void operator()(std::FILE* f) const { std::fclose(f); }
};

Fault refusal(const fs::path& file, const char* code, std::string seen, std::string remedy) {
  return {code, Severity::refusal, std::move(seen), std::move(remedy), photo_name(file), {}};
}

Fault missing(const fs::path& file) {
  const std::string name = file.string();
  if (name.find_first_of("*?") != std::string::npos)
    return refusal(file, "photo-missing", fmt::format("No file matches '{}'.", name),
                   "Check the folder and the ending: capital letters count (.JPG is not .jpg).");
  return refusal(file, "photo-missing", fmt::format("There is no file '{}'.", name),
                 "Check the name and the folder; put names with spaces in quotes.");
}

Fault unreadable(const fs::path& file, int error_number) {
  if (error_number == ENOENT || error_number == ENOTDIR) return missing(file);
  const std::string name = file.string();
  if (error_number == EACCES || error_number == EPERM)
    return refusal(
        file, "photo-unreadable", fmt::format("You have no permission to read '{}'.", name),
        "Allow reading (chmod u+r FILE, and chmod u+x on its folder), or copy the photo to a folder of yours.");
  return refusal(file, "photo-unreadable",
                 fmt::format("'{}' cannot be read: {}.", name, std::generic_category().message(error_number)),
                 "Copy the photo from the phone again; if that fails too, check the disk or card.");
}

/// Anything but an ordinary file.
std::optional<Fault> wrong_kind(const fs::path& file) {
  std::error_code error;
  const fs::file_status status = fs::status(file, error);
  if (status.type() == fs::file_type::not_found) return missing(file);
  if (error) return unreadable(file, error.value());
  if (fs::is_directory(status))
    return refusal(file, "photo-unreadable", fmt::format("'{}' is a folder, not a photo.", file.string()),
                   fmt::format("Give a folder's photos by name: {}/*.jpg", (file / "").parent_path().string()));
  if (!fs::is_regular_file(status))
    return refusal(file, "photo-unreadable", fmt::format("'{}' is a device or pipe, not a photo.", file.string()),
                   "Save the photo to a file and give that.");
  return std::nullopt;
}

bool is_text(std::span<const std::uint8_t> head) {
  return std::all_of(head.begin(), head.end(),
                     [](std::uint8_t c) { return (c >= ' ' && c != 0x7F) || (c >= '\t' && c <= '\r'); });
}

bool is_film(std::span<const std::uint8_t> head) {
  return head.size() >= 8 && std::equal(head.begin() + 4, head.begin() + 8, "ftyp");
}

/// A file that does not begin like a picture.
std::optional<Fault> no_picture(const fs::path& file, std::span<const std::uint8_t> head) {
  constexpr const char* code = "photo-not-a-picture";
  if (head.empty()) return refusal(file, code, "The file is empty (0 bytes).", "Copy the photo from the phone again.");
  if (format_of(head)) return std::nullopt;
  if (is_text(head))
    return refusal(file, code, "The file holds text, whatever its name says.",
                   "Give the photo itself, not a list or a note about it.");
  if (is_film(head))
    return refusal(file, code, "The file is a film, not a photo.",
                   "Take a still photo; a frame of a film is too coarse to measure.");
  return refusal(file, code, "The file does not begin like a JPEG, PNG, TIFF, WebP or HEIC picture.",
                 "Export the photo as JPEG, at full size, and give that file.");
}

}  // namespace

std::size_t largest_photo_file(const LoadOptions& options) {
  constexpr double bytes_per_pixel = 8, extra = 256e6;
  return static_cast<std::size_t>(std::min(options.max_megapixels * 1e6 * bytes_per_pixel + extra, double{INT_MAX}));
}

std::string photo_name(const fs::path& file) {
  const fs::path last = file.has_filename() ? file.filename() : file.parent_path().filename();
  return last.empty() ? file.string() : last.string();
}

std::optional<std::vector<std::uint8_t>> read_photo_file(const fs::path& file, std::size_t max_bytes, Faults& faults) {
  const auto refuse = [&faults](Fault fault) {
    faults.push_back(std::move(fault));
    return std::nullopt;
  };
  if (auto fault = wrong_kind(file)) return refuse(std::move(*fault));
  errno = 0;
  const std::unique_ptr<std::FILE, CloseFile> stream(std::fopen(file.c_str(), "rb"));
  if (!stream) return refuse(unreadable(file, errno));

  std::vector<std::uint8_t> bytes(head_bytes);
  bytes.resize(std::fread(bytes.data(), 1, head_bytes, stream.get()));
  if (std::ferror(stream.get())) return refuse(unreadable(file, errno));
  if (auto fault = no_picture(file, bytes)) return refuse(std::move(*fault));

  std::error_code error;
  const std::uintmax_t size = fs::file_size(file, error);
  if (error) return refuse(unreadable(file, error.value()));
  if (size > max_bytes)
    return refuse(refusal(file, "photo-too-large",
                          fmt::format("The file has {:.0f} MB; at most {:.0f} MB are read.",
                                      static_cast<double>(size) / 1e6, static_cast<double>(max_bytes) / 1e6),
                          "Export the photo as JPEG and give that file, or raise the limit (--max-megapixels)."));
  const std::size_t head = bytes.size();
  bytes.resize(std::max<std::size_t>(size, head));
  bytes.resize(head + std::fread(bytes.data() + head, 1, bytes.size() - head, stream.get()));
  if (std::ferror(stream.get())) return refuse(unreadable(file, errno));
  return bytes;
}

}  // namespace chalkfold::capture
