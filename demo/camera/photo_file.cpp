// SPDX-License-Identifier: Apache-2.0
#include "demo/camera/photo_file.h"

#include <libexif/exif-data.h>

#include <cmath>
#include <cstdlib>
#include <fstream>
#include <memory>
#include <nlohmann/json.hpp>
#include <opencv2/imgcodecs.hpp>
#include <stdexcept>
#include <string>

#include "demo/camera/render.h"
#include "demo/camera/truth.h"
#include "pipeline/common/error.h"

namespace chalkfold::demo {

namespace {

struct ExifFree {
  void operator()(ExifData* p) const { exif_data_unref(p); }
  void operator()(ExifEntry* p) const { exif_entry_unref(p); }
  void operator()(unsigned char* p) const { std::free(p); }  // exif_data_save_data allocates with malloc
};

class ExifWriter {
 public:
  ExifWriter() : data_(exif_data_new()) { exif_data_set_byte_order(data_.get(), EXIF_BYTE_ORDER_MOTOROLA); }

  void text(ExifIfd ifd, ExifTag tag, const std::string& value) {
    unsigned char* at = entry(ifd, tag, EXIF_FORMAT_ASCII, value.size() + 1, value.size() + 1);
    std::copy(value.begin(), value.end(), at);
    at[value.size()] = 0;
  }
  void number(ExifIfd ifd, ExifTag tag, int value) {
    exif_set_short(entry(ifd, tag, EXIF_FORMAT_SHORT, 1, 2), EXIF_BYTE_ORDER_MOTOROLA, static_cast<ExifShort>(value));
  }
  void ratio(ExifIfd ifd, ExifTag tag, unsigned numerator, unsigned denominator) {
    exif_set_rational(entry(ifd, tag, EXIF_FORMAT_RATIONAL, 1, 8), EXIF_BYTE_ORDER_MOTOROLA, {numerator, denominator});
  }

  /// The APP1 segment with its marker and length.
  std::vector<unsigned char> segment() {
    unsigned char* raw = nullptr;
    unsigned size = 0;
    exif_data_save_data(data_.get(), &raw, &size);
    const std::unique_ptr<unsigned char, ExifFree> owned(raw);
    if (raw == nullptr || size + 2 > 0xFFFF)
      throw std::runtime_error("EXIF block of " + std::to_string(size) + " bytes");
    const unsigned with_length = size + 2;
    std::vector<unsigned char> out{0xFF, 0xE1, static_cast<unsigned char>(with_length >> 8),
                                   static_cast<unsigned char>(with_length & 255)};
    out.insert(out.end(), raw, raw + size);
    return out;
  }

 private:
  /// libexif frees an entry's data with its own allocator, so the memory must come from there.
  unsigned char* entry(ExifIfd ifd, ExifTag tag, ExifFormat format, std::size_t components, std::size_t bytes) {
    ExifMem* memory = exif_mem_new_default();
    std::unique_ptr<ExifEntry, ExifFree> e(exif_entry_new_mem(memory));
    e->tag = tag;
    e->format = format;
    e->components = components;
    e->size = static_cast<unsigned>(bytes);
    e->data = static_cast<unsigned char*>(exif_mem_alloc(memory, static_cast<ExifLong>(bytes)));
    exif_mem_unref(memory);
    exif_content_add_entry(data_->ifd[ifd], e.get());
    return e->data;
  }

  std::unique_ptr<ExifData, ExifFree> data_;
};

std::vector<unsigned char> exif_of(const Scene& scene) {
  constexpr double full_frame_over_sensor = 5.8;  // crop factor of a phone's main camera
  ExifWriter exif;
  exif.text(EXIF_IFD_0, EXIF_TAG_MAKE, "Example");
  exif.text(EXIF_IFD_0, EXIF_TAG_MODEL, scene.phone);
  exif.number(EXIF_IFD_0, EXIF_TAG_ORIENTATION, scene.camera.orientation);
  exif.ratio(EXIF_IFD_EXIF, EXIF_TAG_FOCAL_LENGTH,
             static_cast<unsigned>(std::lround(scene.focal_35mm / full_frame_over_sensor * 100)), 100);
  exif.number(EXIF_IFD_EXIF, EXIF_TAG_FOCAL_LENGTH_IN_35MM_FILM, static_cast<int>(std::lround(scene.focal_35mm)));
  exif.number(EXIF_IFD_EXIF, EXIF_TAG_PIXEL_X_DIMENSION, scene.camera.lens.width);
  exif.number(EXIF_IFD_EXIF, EXIF_TAG_PIXEL_Y_DIMENSION, scene.camera.lens.height);
  return exif.segment();
}

/// The way back from upright to stored.
cv::Mat stored_from_upright(const cv::Mat& upright, int orientation) {
  cv::Mat out;
  switch (orientation) {
    case 3:
      cv::rotate(upright, out, cv::ROTATE_180);
      return out;
    case 6:
      cv::rotate(upright, out, cv::ROTATE_90_COUNTERCLOCKWISE);
      return out;
    case 8:
      cv::rotate(upright, out, cv::ROTATE_90_CLOCKWISE);
      return out;
    default:
      return upright;
  }
}

void write_file(const std::filesystem::path& path, const char* data, std::size_t size) {
  const std::filesystem::path temporary = path.string() + ".part";
  std::ofstream out(temporary, std::ios::binary);
  out.write(data, static_cast<std::streamsize>(size));
  out.close();
  std::error_code error;
  if (out) std::filesystem::rename(temporary, path, error);
  if (!out || error) {
    std::error_code ignored;
    std::filesystem::remove(temporary, ignored);
    throw FileError("cannot write " + path.string());
  }
}

}  // namespace

namespace {

std::vector<unsigned char> jpeg_of(const cv::Mat& upright, const Scene& scene, int quality) {
  std::vector<unsigned char> jpeg;
  if (!cv::imencode(".jpg", stored_from_upright(upright, scene.camera.orientation), jpeg,
                    {cv::IMWRITE_JPEG_QUALITY, quality})) {
    throw std::runtime_error("JPEG encoding failed");
  }
  const std::vector<unsigned char> exif = exif_of(scene);
  constexpr int start_of_image = 2;  // bytes
  jpeg.insert(jpeg.begin() + start_of_image, exif.begin(), exif.end());
  return jpeg;
}

}  // namespace

std::vector<unsigned char> jpeg_with_exif(const cv::Mat& upright, const Scene& scene) {
  return jpeg_of(upright, scene, scene.sensor.jpeg_quality);
}

void write_photo(const Scene& scene, const std::filesystem::path& folder, const std::optional<PhoneOptions>& phone) {
  std::error_code error;
  std::filesystem::create_directories(folder, error);
  if (error) throw FileError("cannot make the folder " + folder.string() + ": " + error.message());
  const cv::Mat upright = phone ? phone_picture(render_linear(scene), *phone, scene.seed) : render(scene);
  const std::vector<unsigned char> jpeg = jpeg_of(upright, scene, phone ? phone->quality : scene.sensor.jpeg_quality);
  write_file(folder / (scene.name + ".jpg"), reinterpret_cast<const char*>(jpeg.data()), jpeg.size());
  nlohmann::json told = truth(scene);
  if (phone) told["phone"] = phone_json(*phone);
  const std::string text = told.dump(1) + "\n";
  write_file(folder / (scene.name + ".truth.json"), text.data(), text.size());
}

}  // namespace chalkfold::demo
