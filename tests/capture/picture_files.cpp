// SPDX-License-Identifier: Apache-2.0
#include "tests/capture/picture_files.h"

#include <libheif/heif.h>
#include <unistd.h>

#include <cmath>
#include <cstring>
#include <fstream>
#include <memory>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>
#include <stdexcept>

#ifdef __SANITIZE_ADDRESS__
// Debian's x265 loses its parameter block at every encoder it opens; only these tests encode.
extern "C" const char* __lsan_default_suppressions() { return "leak:libx265"; }
#endif

namespace chalkfold::picture_files {
namespace {

void put(FileBytes& bytes, std::uint32_t value, int count, bool big_endian) {
  for (int i = 0; i < count; ++i)
    bytes.push_back(static_cast<std::uint8_t>(value >> 8 * (big_endian ? count - 1 - i : i) & 0xFF));
}
void put_little(FileBytes& bytes, std::uint32_t value, int count) { put(bytes, value, count, false); }
void put_big(FileBytes& bytes, std::uint32_t value, int count) { put(bytes, value, count, true); }
void put_text(FileBytes& bytes, const std::string& text) { bytes.insert(bytes.end(), text.begin(), text.end()); }
// One by one: GCC 12 takes the range insert for an overread and warns.
void put_bytes(FileBytes& bytes, const FileBytes& more) {
  for (const std::uint8_t byte : more) bytes.push_back(byte);
}

/// A TIFF directory being put together: entries in ascending tags, longer values after it.
class Directory {
 public:
  explicit Directory(std::uint32_t offset, std::uint16_t entries) : extra_at_(offset + 2 + 12U * entries + 4) {
    put_little(entries_, entries, 2);
  }
  void add_short(std::uint16_t tag, std::uint32_t value) { add(tag, 3, 1, value); }
  void add_long(std::uint16_t tag, std::uint32_t value) { add(tag, 4, 1, value); }
  void add_text(std::uint16_t tag, const std::string& text) {
    add(tag, 2, static_cast<std::uint32_t>(text.size() + 1), next_extra());
    put_text(extra_, text);
    extra_.push_back(0);
  }
  void add_quarters(std::uint16_t tag, double value) {
    add(tag, 5, 1, next_extra());
    put_little(extra_, static_cast<std::uint32_t>(std::lround(4 * value)), 4);
    put_little(extra_, 4, 4);
  }
  void add_three_shorts(std::uint16_t tag, std::uint32_t value) {
    add(tag, 3, 3, next_extra());
    for (int i = 0; i < 3; ++i) put_little(extra_, value, 2);
  }
  FileBytes bytes() const {
    FileBytes all = entries_;
    put_little(all, 0, 4);
    put_bytes(all, extra_);
    return all;
  }

 private:
  std::uint32_t next_extra() const { return extra_at_ + static_cast<std::uint32_t>(extra_.size()); }
  void add(std::uint16_t tag, std::uint32_t type, std::uint32_t count, std::uint32_t value) {
    put_little(entries_, tag, 2);
    put_little(entries_, type, 2);
    put_little(entries_, count, 4);
    put_little(entries_, value, 4);
  }
  std::uint32_t extra_at_;
  FileBytes entries_, extra_;
};

constexpr std::uint16_t tag_make = 271, tag_model = 272, tag_orientation = 274, tag_camera = 34665;
constexpr std::uint32_t tiff_header_bytes = 8;

FileBytes camera_directory(const capture::PhotoExif& exif, std::uint32_t offset) {
  Directory camera(offset, 3);
  camera.add_quarters(37386, exif.focal_mm);
  camera.add_quarters(41988, exif.digital_zoom);
  camera.add_short(41989, static_cast<std::uint32_t>(exif.focal_35mm));
  return camera.bytes();
}

std::uint32_t crc32(const FileBytes& bytes) {
  std::uint32_t crc = ~0U;
  for (const std::uint8_t byte : bytes) {
    crc ^= byte;
    for (int bit = 0; bit < 8; ++bit) crc = (crc & 1U) ? crc >> 1 ^ 0xEDB88320U : crc >> 1;
  }
  return ~crc;
}

FileBytes png_chunk(const std::string& type, const FileBytes& data) {
  FileBytes checked;
  put_text(checked, type);
  put_bytes(checked, data);
  FileBytes chunk;
  put_big(chunk, static_cast<std::uint32_t>(data.size()), 4);
  put_bytes(chunk, checked);
  put_big(chunk, crc32(checked), 4);
  return chunk;
}

void put_riff_chunk(FileBytes& bytes, const std::string& type, const FileBytes& data) {
  put_text(bytes, type);
  put_little(bytes, static_cast<std::uint32_t>(data.size()), 4);
  put_bytes(bytes, data);
  if (data.size() % 2) bytes.push_back(0);
}

void check(const heif_error& error) {
  if (error.code != heif_error_Ok) throw std::runtime_error(error.message);
}

heif_error append(heif_context*, const void* data, std::size_t size, void* to) {
  const auto* bytes = static_cast<const std::uint8_t*>(data);
  static_cast<FileBytes*>(to)->insert(static_cast<FileBytes*>(to)->end(), bytes, bytes + size);
  return {heif_error_Ok, heif_suberror_Unspecified, ""};
}

}  // namespace

TemporaryFolder::TemporaryFolder() {
  std::string name = (std::filesystem::temp_directory_path() / "chalkfold-capture-XXXXXX").string();
  if (!mkdtemp(name.data())) throw std::runtime_error("no temporary folder: " + name);
  path_ = name;
}

TemporaryFolder::~TemporaryFolder() {
  std::error_code ignored;
  std::filesystem::remove_all(path_, ignored);
}

std::filesystem::path TemporaryFolder::write(const std::string& name, const FileBytes& bytes) const {
  std::ofstream stream(path_ / name, std::ios::binary);
  stream.write(reinterpret_cast<const char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
  if (!stream.flush()) throw std::runtime_error("cannot write " + name);
  return path_ / name;
}

cv::Mat flag() {
  cv::Mat image(64, 96, CV_8UC3, cv::Scalar(40, 40, 200));
  image(cv::Rect(48, 0, 48, 32)).setTo(cv::Scalar(60, 180, 60));
  image(cv::Rect(0, 32, 48, 32)).setTo(cv::Scalar(220, 220, 220));
  image(cv::Rect(48, 32, 48, 32)).setTo(cv::Scalar(190, 90, 30));
  image(cv::Rect(8, 0, 16, 16)).setTo(cv::Scalar(0, 0, 0));
  return image;
}

cv::Mat texture(cv::Size size) {
  cv::Mat image(size, CV_8UC3);
  cv::RNG random(20);
  random.fill(image, cv::RNG::UNIFORM, 0, 256);
  cv::GaussianBlur(image, image, {}, 1.5);
  return image;
}

cv::Mat stored_for(const cv::Mat& upright, int orientation) {
  const int right = upright.cols - 1, bottom = upright.rows - 1;
  cv::Mat stored =
      orientation >= 5 ? cv::Mat(upright.cols, upright.rows, upright.type()) : cv::Mat(upright.size(), upright.type());
  for (int row = 0; row < stored.rows; ++row)
    for (int column = 0; column < stored.cols; ++column) {
      cv::Point from;
      switch (orientation) {
        case 1:
          from = {column, row};
          break;  // row 0 is the top, column 0 the left side
        case 2:
          from = {right - column, row};
          break;  // top, right
        case 3:
          from = {right - column, bottom - row};
          break;  // bottom, right
        case 4:
          from = {column, bottom - row};
          break;  // bottom, left
        case 5:
          from = {row, column};
          break;  // left, top
        case 6:
          from = {right - row, column};
          break;  // right, top
        case 7:
          from = {right - row, bottom - column};
          break;  // right, bottom
        case 8:
          from = {row, bottom - column};
          break;  // left, bottom
        default:
          throw std::logic_error("orientation " + std::to_string(orientation));
      }
      std::memcpy(stored.ptr(row, column), upright.ptr(from.y, from.x), upright.elemSize());
    }
  return stored;
}

FileBytes exif_block(const capture::PhotoExif& exif) {
  const auto main_directory = [&exif](std::uint32_t camera_at) {
    Directory main(tiff_header_bytes, 4);
    main.add_text(tag_make, exif.make);
    main.add_text(tag_model, exif.model);
    main.add_short(tag_orientation, static_cast<std::uint32_t>(exif.orientation));
    main.add_long(tag_camera, camera_at);
    return main.bytes();
  };
  const auto camera_at = tiff_header_bytes + static_cast<std::uint32_t>(main_directory(0).size());
  FileBytes block{'I', 'I', 42, 0};
  put_little(block, tiff_header_bytes, 4);
  put_bytes(block, main_directory(camera_at));
  put_bytes(block, camera_directory(exif, camera_at));
  return block;
}

FileBytes encode(const std::string& ending, const cv::Mat& image, const std::vector<int>& parameters) {
  FileBytes bytes;
  if (!cv::imencode(ending, image, bytes, parameters)) throw std::runtime_error("cannot encode " + ending);
  return bytes;
}

FileBytes jpeg_with_exif(const FileBytes& jpeg, const FileBytes& block) {
  FileBytes with{0xFF, 0xD8, 0xFF, 0xE1};
  put_big(with, static_cast<std::uint32_t>(block.size() + 8), 2);
  put_text(with, std::string("Exif\0\0", 6));
  put_bytes(with, block);
  with.insert(with.end(), jpeg.begin() + 2, jpeg.end());
  return with;
}

FileBytes png_with_exif(const FileBytes& png, const FileBytes& block) {
  constexpr std::ptrdiff_t after_header = 33;
  FileBytes with(png.begin(), png.begin() + after_header);
  put_bytes(with, png_chunk("eXIf", block));
  with.insert(with.end(), png.begin() + after_header, png.end());
  return with;
}

FileBytes webp_with_exif(const FileBytes& webp, cv::Size canvas, const FileBytes& block) {
  constexpr std::uint32_t has_exif = 0x08;
  FileBytes features;
  put_little(features, has_exif, 4);
  put_little(features, static_cast<std::uint32_t>(canvas.width - 1), 3);
  put_little(features, static_cast<std::uint32_t>(canvas.height - 1), 3);
  FileBytes chunks;
  put_text(chunks, "WEBP");
  put_riff_chunk(chunks, "VP8X", features);
  chunks.insert(chunks.end(), webp.begin() + 12, webp.end());
  put_riff_chunk(chunks, "EXIF", block);
  FileBytes file;
  put_riff_chunk(file, "RIFF", chunks);
  return file;
}

FileBytes tiff_with_exif(const cv::Mat& bgr, const capture::PhotoExif& exif) {
  cv::Mat rgb;
  cv::cvtColor(bgr, rgb, cv::COLOR_BGR2RGB);
  const auto pixel_bytes = static_cast<std::uint32_t>(rgb.total() * rgb.elemSize());
  const std::uint32_t camera_at = tiff_header_bytes + pixel_bytes;
  const FileBytes camera = camera_directory(exif, camera_at);
  const auto main_at = camera_at + static_cast<std::uint32_t>(camera.size());
  Directory main(main_at, 13);
  main.add_long(256, static_cast<std::uint32_t>(rgb.cols));
  main.add_long(257, static_cast<std::uint32_t>(rgb.rows));
  main.add_three_shorts(258, static_cast<std::uint32_t>(8 * rgb.elemSize1()));
  main.add_short(259, 1);  // not compressed
  main.add_short(262, 2);  // RGB
  main.add_text(tag_make, exif.make);
  main.add_text(tag_model, exif.model);
  main.add_long(273, tiff_header_bytes);  // where the pixels are
  main.add_short(tag_orientation, static_cast<std::uint32_t>(exif.orientation));
  main.add_short(277, 3);  // samples per pixel
  main.add_long(278, static_cast<std::uint32_t>(rgb.rows));
  main.add_long(279, pixel_bytes);
  main.add_long(tag_camera, camera_at);
  FileBytes file{'I', 'I', 42, 0};
  put_little(file, main_at, 4);
  file.insert(file.end(), rgb.data, rgb.data + pixel_bytes);
  put_bytes(file, camera);
  put_bytes(file, main.bytes());
  return file;
}

std::optional<FileBytes> heic_with_exif(const cv::Mat& bgr, const capture::PhotoExif& exif) {
  const std::unique_ptr<heif_context, void (*)(heif_context*)> context(heif_context_alloc(), heif_context_free);
  heif_encoder* found = nullptr;
  if (!heif_have_encoder_for_format(heif_compression_HEVC) ||
      heif_context_get_encoder_for_format(context.get(), heif_compression_HEVC, &found).code != heif_error_Ok)
    return std::nullopt;
  const std::unique_ptr<heif_encoder, void (*)(heif_encoder*)> encoder(found, heif_encoder_release);
  check(heif_encoder_set_lossy_quality(encoder.get(), 95));
  heif_image* raw = nullptr;
  check(heif_image_create(bgr.cols, bgr.rows, heif_colorspace_RGB, heif_chroma_interleaved_RGB, &raw));
  const std::unique_ptr<heif_image, void (*)(const heif_image*)> image(raw, heif_image_release);
  check(heif_image_add_plane(raw, heif_channel_interleaved, bgr.cols, bgr.rows, 8));
  int stride = 0;
  std::uint8_t* plane = heif_image_get_plane(raw, heif_channel_interleaved, &stride);
  cv::Mat rgb(bgr.size(), CV_8UC3, plane, static_cast<std::size_t>(stride));
  cv::cvtColor(bgr, rgb, cv::COLOR_BGR2RGB);

  const std::unique_ptr<heif_encoding_options, void (*)(heif_encoding_options*)> options(heif_encoding_options_alloc(),
                                                                                         heif_encoding_options_free);
  options->image_orientation = static_cast<heif_orientation>(exif.orientation);
  heif_image_handle* handle = nullptr;
  check(heif_context_encode_image(context.get(), raw, encoder.get(), options.get(), &handle));
  const std::unique_ptr<heif_image_handle, void (*)(const heif_image_handle*)> owned(handle, heif_image_handle_release);
  const FileBytes block = exif_block(exif);
  check(heif_context_add_exif_metadata(context.get(), handle, block.data(), static_cast<int>(block.size())));
  FileBytes file;
  heif_writer writer{1, append};
  check(heif_context_write(context.get(), &writer, &file));
  return file;
}

FileBytes png_header_only(std::uint32_t width, std::uint32_t height) {
  FileBytes header;
  put_big(header, width, 4);
  put_big(header, height, 4);
  put_bytes(header, {8, 2, 0, 0, 0});  // 8 bits, RGB
  FileBytes file{0x89, 'P', 'N', 'G', '\r', '\n', 0x1A, '\n'};
  put_bytes(file, png_chunk("IHDR", header));
  return file;
}

}  // namespace chalkfold::picture_files
