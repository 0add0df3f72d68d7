// SPDX-License-Identifier: Apache-2.0
#include "pipeline/capture/exif.h"

#include <libexif/exif-data.h>

#include <algorithm>
#include <memory>
#include <string>
#include <vector>

#include "pipeline/capture/tiff_directory.h"

namespace chalkfold::capture {
namespace {

constexpr std::uint8_t exif_prefix[] = {'E', 'x', 'i', 'f', 0, 0};
// bytes; a camera's block is below 64 KiB, anything larger is not worth a copy
constexpr std::size_t max_block = 1 << 20;

struct FreeExif {
  void operator()(ExifData* data) const { exif_data_unref(data); }
};
using ExifPtr = std::unique_ptr<ExifData, FreeExif>;

bool has_prefix(std::span<const std::uint8_t> block) {
  return block.size() >= sizeof exif_prefix &&
         std::equal(std::begin(exif_prefix), std::end(exif_prefix), block.begin());
}

ExifPtr load(std::span<const std::uint8_t> block) {
  std::vector<std::uint8_t> prefixed(std::begin(exif_prefix), std::end(exif_prefix));
  if (has_prefix(block)) block = block.subspan(sizeof exif_prefix);
  prefixed.insert(prefixed.end(), block.begin(), block.end());
  ExifPtr data(exif_data_new());
  if (!data) return nullptr;
  // Only what is stored counts: the library would otherwise add entries the standard wants and change types.
  exif_data_unset_option(data.get(), EXIF_DATA_OPTION_FOLLOW_SPECIFICATION);
  exif_data_set_option(data.get(), EXIF_DATA_OPTION_DONT_CHANGE_MAKER_NOTE);
  exif_data_load_data(data.get(), prefixed.data(), static_cast<unsigned int>(prefixed.size()));
  return data;
}

const ExifEntry* find(const ExifData& data, ExifIfd directory, ExifTag tag, ExifFormat format) {
  const ExifEntry* entry = exif_content_get_entry(data.ifd[directory], tag);
  const bool usable = entry && entry->format == format && entry->components >= 1 && entry->data &&
                      entry->size >= exif_format_get_size(format);
  return usable ? entry : nullptr;
}

double number(ExifData& data, ExifIfd directory, ExifTag tag) {
  const ExifByteOrder order = exif_data_get_byte_order(&data);
  if (const ExifEntry* e = find(data, directory, tag, EXIF_FORMAT_SHORT)) return exif_get_short(e->data, order);
  if (const ExifEntry* e = find(data, directory, tag, EXIF_FORMAT_LONG)) return exif_get_long(e->data, order);
  if (const ExifEntry* e = find(data, directory, tag, EXIF_FORMAT_RATIONAL)) {
    const ExifRational value = exif_get_rational(e->data, order);
    return value.denominator == 0 ? 0 : static_cast<double>(value.numerator) / value.denominator;
  }
  return 0;
}

std::string printable(const std::string& raw) {
  std::string text;
  for (const char letter : raw) {
    if (letter == 0) break;
    if (letter >= ' ' && letter <= '~') text += letter;
  }
  const auto last = text.find_last_not_of(' ');
  return last == std::string::npos ? std::string()
                                   : text.substr(text.find_first_not_of(' '), last + 1 - text.find_first_not_of(' '));
}

std::string text(const ExifData& data, ExifTag tag) {
  const ExifEntry* entry = find(data, EXIF_IFD_0, tag, EXIF_FORMAT_ASCII);
  return entry ? printable(std::string(reinterpret_cast<const char*>(entry->data), entry->size)) : std::string();
}

int valid_orientation(double stored) { return stored >= 1 && stored <= 8 ? static_cast<int>(stored) : 1; }

}  // namespace

PhotoExif read_exif(std::span<const std::uint8_t> block) {
  PhotoExif exif;
  if (block.empty() || block.size() > max_block) return exif;
  const ExifPtr data = load(block);
  if (!data) return exif;
  exif.make = text(*data, EXIF_TAG_MAKE);
  exif.model = text(*data, EXIF_TAG_MODEL);
  exif.focal_mm = number(*data, EXIF_IFD_EXIF, EXIF_TAG_FOCAL_LENGTH);
  exif.focal_35mm = number(*data, EXIF_IFD_EXIF, EXIF_TAG_FOCAL_LENGTH_IN_35MM_FILM);
  exif.digital_zoom = number(*data, EXIF_IFD_EXIF, EXIF_TAG_DIGITAL_ZOOM_RATIO);
  exif.orientation = valid_orientation(number(*data, EXIF_IFD_0, EXIF_TAG_ORIENTATION));
  return exif;
}

PhotoExif read_tiff_exif(std::span<const std::uint8_t> file) {
  PhotoExif exif;
  const auto main = TiffDirectory::first(file);
  if (!main) return exif;
  exif.make = printable(main->text(EXIF_TAG_MAKE));
  exif.model = printable(main->text(EXIF_TAG_MODEL));
  exif.orientation = valid_orientation(main->number(EXIF_TAG_ORIENTATION).value_or(1));
  if (const auto camera = main->sub(EXIF_TAG_EXIF_IFD_POINTER)) {
    exif.focal_mm = camera->rational(EXIF_TAG_FOCAL_LENGTH).value_or(0);
    exif.focal_35mm = camera->number(EXIF_TAG_FOCAL_LENGTH_IN_35MM_FILM).value_or(0);
    exif.digital_zoom = camera->rational(EXIF_TAG_DIGITAL_ZOOM_RATIO).value_or(0);
  }
  return exif;
}

}  // namespace chalkfold::capture
