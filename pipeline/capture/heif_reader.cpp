// SPDX-License-Identifier: Apache-2.0
#include "pipeline/capture/heif_reader.h"

#include <libheif/heif.h>

#include <opencv2/imgproc.hpp>
#include <vector>

#include "pipeline/capture/exif.h"

namespace chalkfold::capture {
namespace {

struct FreeContext {
  void operator()(heif_context* p) const { heif_context_free(p); }
};
struct FreeHandle {
  void operator()(heif_image_handle* p) const { heif_image_handle_release(p); }
};
struct FreeImage {
  void operator()(heif_image* p) const { heif_image_release(p); }
};
struct FreeOptions {
  void operator()(heif_decoding_options* p) const { heif_decoding_options_free(p); }
};

}  // namespace

struct HeifPicture::Handles {
  std::unique_ptr<heif_context, FreeContext> context;
  std::unique_ptr<heif_image_handle, FreeHandle> picture;
};

HeifPicture::HeifPicture(std::span<const std::uint8_t> file) : handles_(std::make_unique<Handles>()) {
  handles_->context.reset(heif_context_alloc());
  heif_context* context = handles_->context.get();
  heif_context_set_max_decoding_threads(context, 0);  // photos run in parallel already; 0 = in this thread
  const heif_error read = heif_context_read_from_memory_without_copy(context, file.data(), file.size(), nullptr);
  if (!succeeded(read.code, read.message)) return;
  heif_image_handle* picture = nullptr;
  const heif_error found = heif_context_get_primary_image_handle(context, &picture);
  if (succeeded(found.code, found.message)) handles_->picture.reset(picture);
}

HeifPicture::~HeifPicture() = default;

bool HeifPicture::succeeded(int code, const char* message) {
  if (code == heif_error_Ok) return true;
  problem_ = message ? message : "unknown error";
  unsupported_ = code == heif_error_Unsupported_filetype || code == heif_error_Unsupported_feature;
  return false;
}

bool HeifPicture::is_open() const { return handles_->picture != nullptr; }

int HeifPicture::width() const { return is_open() ? heif_image_handle_get_width(handles_->picture.get()) : 0; }

int HeifPicture::height() const { return is_open() ? heif_image_handle_get_height(handles_->picture.get()) : 0; }

PhotoExif HeifPicture::exif() const {
  heif_item_id id = 0;
  const heif_image_handle* picture = handles_->picture.get();
  if (!picture || heif_image_handle_get_list_of_metadata_block_IDs(picture, "Exif", &id, 1) != 1) return {};
  std::vector<std::uint8_t> block(heif_image_handle_get_metadata_size(picture, id));
  // the item begins with the distance to the TIFF header (ISO/IEC 23008-12, annex A)
  constexpr std::size_t offset_bytes = 4;
  if (block.size() <= offset_bytes || heif_image_handle_get_metadata(picture, id, block.data()).code != heif_error_Ok)
    return {};
  const std::size_t distance = std::size_t{block[0]} << 24 | block[1] << 16 | block[2] << 8 | block[3];
  if (distance >= block.size() - offset_bytes) return {};
  return read_exif(std::span(block).subspan(offset_bytes + distance));
}

cv::Mat HeifPicture::decode() {
  if (!is_open()) return {};
  const bool alpha = heif_image_handle_has_alpha_channel(handles_->picture.get()) != 0;
  const std::unique_ptr<heif_decoding_options, FreeOptions> options(heif_decoding_options_alloc());
  options->convert_hdr_to_8bit = 1;
  heif_image* raw = nullptr;
  const heif_chroma layout = alpha ? heif_chroma_interleaved_RGBA : heif_chroma_interleaved_RGB;
  const heif_error decoded =
      heif_decode_image(handles_->picture.get(), &raw, heif_colorspace_RGB, layout, options.get());
  const std::unique_ptr<heif_image, FreeImage> image(raw);
  if (!succeeded(decoded.code, decoded.message)) return {};
  int stride = 0;
  const std::uint8_t* pixels = heif_image_get_plane_readonly(image.get(), heif_channel_interleaved, &stride);
  const int columns = heif_image_get_width(image.get(), heif_channel_interleaved);
  const int rows = heif_image_get_height(image.get(), heif_channel_interleaved);
  if (!pixels || columns <= 0 || rows <= 0) return {};
  // The header of a read-only plane: cvtColor copies out of it.
  const cv::Mat rgb(rows, columns, alpha ? CV_8UC4 : CV_8UC3, const_cast<std::uint8_t*>(pixels),
                    static_cast<std::size_t>(stride));
  cv::Mat bgr;
  cv::cvtColor(rgb, bgr, alpha ? cv::COLOR_RGBA2BGRA : cv::COLOR_RGB2BGR);
  return bgr;
}

}  // namespace chalkfold::capture
