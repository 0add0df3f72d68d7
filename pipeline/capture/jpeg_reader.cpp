// SPDX-License-Identifier: Apache-2.0
#include "pipeline/capture/jpeg_reader.h"

#include <algorithm>
#include <array>
#include <csetjmp>
#include <cstdio>
#include <cstring>
#include <utility>

// Needs <cstdio> before it.
#include <jpeglib.h>
// Needs <jpeglib.h> before it.
#include <jerror.h>

#include "pipeline/capture/large_picture.h"

namespace chalkfold::capture {
namespace {

using Bytes = std::span<const std::uint8_t>;

constexpr std::uint8_t marker_prefix = 0xFF, marker_end_of_image = 0xD9, marker_start_of_scan = 0xDA;

/// Offset of the next marker's FF at or after `at`: inside a scan FF 00 is data and FF D0..D7 only restart it.
std::size_t next_marker(Bytes file, std::size_t at) {
  while (at + 1 < file.size()) {
    const void* found = std::memchr(file.data() + at, marker_prefix, file.size() - 1 - at);
    if (!found) break;
    at = static_cast<std::size_t>(static_cast<const std::uint8_t*>(found) - file.data());
    const std::uint8_t code = file[at + 1];
    const bool inside_scan = code == 0 || (code >= 0xD0 && code <= 0xD7);
    if (!inside_scan && code != marker_prefix) return at;
    at += code == marker_prefix ? 1 : 2;
  }
  return file.size();
}

/// A download that broke off often leaves a file of full length filled up with one byte value; that tail is no picture
/// data.
Bytes without_padding(Bytes file) {
  constexpr std::size_t least_padding = 64;  // bytes; entropy-coded data never holds so long a run of 00 or FF
  if (file.empty() || (file.back() != 0x00 && file.back() != 0xFF)) return file;
  std::size_t end = file.size();
  while (end > 0 && file[end - 1] == file.back()) --end;
  return file.size() - end >= least_padding ? file.first(end) : file;
}

/// libjpeg's handlers, with what they saw. `base` comes first so that the library's pointer is ours.
struct ErrorLog {
  jpeg_error_mgr base;
  std::jmp_buf escape;
  /// data were missing or wrong
  bool lost = false;
  /// row of blocks (iMCU) in which that showed first
  JDIMENSION lost_from = 0;
};

ErrorLog& log_of(j_common_ptr info) { return *reinterpret_cast<ErrorLog*>(info->err); }

[[noreturn]] void on_error(j_common_ptr info) { std::longjmp(log_of(info).escape, 1); }

void on_message(j_common_ptr info, int level) {
  ErrorLog& log = log_of(info);
  const int code = log.base.msg_code;
  const bool loses_data = level < 0 && (code == JWRN_HIT_MARKER || code == JWRN_HUFF_BAD_CODE ||
                                        code == JWRN_MUST_RESYNC || code == JWRN_ARITH_BAD_CODE);
  if (!loses_data || log.lost || !info->is_decompressor) return;
  log.lost = true;
  log.lost_from = reinterpret_cast<j_decompress_ptr>(info)->input_iMCU_row;
}

void on_output(j_common_ptr) {}  // the user hears a fault, not the library's remarks

/// True when the passes of a progressive file have brought every coefficient to full precision, or begun the pass that
/// does.
bool has_finest_pass(const jpeg_decompress_struct& info) {
  if (!info.coef_bits) return false;
  for (int component = 0; component < info.num_components; ++component)
    for (int coefficient = 0; coefficient < DCTSIZE2; ++coefficient)
      if (info.coef_bits[component][coefficient] != 0) return false;
  return true;
}

/// One decompression; the destructor frees libjpeg's memory whichever way the work ended.
class Decompression {
 public:
  Decompression() {
    info_.err = jpeg_std_error(&log_.base);
    log_.base.error_exit = on_error;
    log_.base.emit_message = on_message;
    log_.base.output_message = on_output;
  }
  ~Decompression() { jpeg_destroy_decompress(&info_); }
  Decompression(const Decompression&) = delete;
  Decompression& operator=(const Decompression&) = delete;

  PartialJpeg run(Bytes file) {
    // No object with a destructor may live in this frame below setjmp: longjmp passes it over.
    if (setjmp(log_.escape) == 0) {
      start(file);
      read_rows();
    }
    finish();
    return std::move(result_);
  }

 private:
  double step_of(int component) const {
    const int number = info_.comp_info[component].quant_tbl_no;
    const JQUANT_TBL* table = number >= 0 && number < NUM_QUANT_TBLS ? info_.quant_tbl_ptrs[number] : nullptr;
    if (!table) return 0;
    constexpr std::array<int, 5> lowest{1, 8, 16, 9, 2};  // one or two half waves across a block; rows of eight
    double sum = 0;
    for (const int at : lowest) sum += table->quantval[at];
    return sum / lowest.size();
  }

  void start(Bytes file) {
    jpeg_create_decompress(&info_);
    jpeg_mem_src(&info_, file.data(), file.size());
    jpeg_read_header(&info_, TRUE);
    result_.coding = {step_of(0), info_.num_components >= 3 ? step_of(1) : 0};
    info_.out_color_space = JCS_EXT_BGR;
    jpeg_start_decompress(&info_);
    result_.bgr = large_picture({static_cast<int>(info_.output_width), static_cast<int>(info_.output_height)}, CV_8UC3);
  }

  void read_rows() {
    while (info_.output_scanline < info_.output_height) {
      JSAMPROW row = result_.bgr.ptr(static_cast<int>(info_.output_scanline));
      jpeg_read_scanlines(&info_, &row, 1);
    }
  }

  void finish() {
    result_.whole_rows = whole_rows();
    if (result_.whole_rows < result_.bgr.rows) result_.bgr.rowRange(result_.whole_rows, result_.bgr.rows).setTo(0);
  }

  int whole_rows() {
    if (result_.bgr.empty()) return 0;
    if (jpeg_has_multiple_scans(&info_) && !has_finest_pass(info_)) return 0;
    if (!log_.lost) return static_cast<int>(info_.output_scanline);
    const auto rows = log_.lost_from * static_cast<JDIMENSION>(info_.max_v_samp_factor * DCTSIZE);
    // Colour at the last whole row is interpolated from the row of blocks that is missing.
    return static_cast<int>(std::min(rows == 0 ? 0 : rows - 1, info_.output_scanline));
  }

  jpeg_decompress_struct info_{};
  ErrorLog log_{};
  PartialJpeg result_;
};

}  // namespace

bool jpeg_is_complete(Bytes file) {
  std::size_t at = next_marker(file, 2);
  while (at + 4 <= file.size() || (at + 2 <= file.size() && file[at + 1] == marker_end_of_image)) {
    const std::uint8_t marker = file[at + 1];
    if (marker == marker_end_of_image) return true;
    const std::size_t length = std::size_t{file[at + 2]} << 8 | file[at + 3];
    at += 2 + length;
    if (at >= file.size()) return false;
    if (marker == marker_start_of_scan) at = next_marker(file, at);
    if (at + 2 > file.size() || file[at] != marker_prefix) return false;
    while (at + 2 < file.size() && file[at + 1] == marker_prefix) ++at;  // fill bytes
  }
  return false;
}

PartialJpeg read_jpeg(Bytes file) { return Decompression().run(without_padding(file)); }

}  // namespace chalkfold::capture
