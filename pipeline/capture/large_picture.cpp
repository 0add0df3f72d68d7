// SPDX-License-Identifier: Apache-2.0
#include "pipeline/capture/large_picture.h"

#include <sys/mman.h>

#include <cstdint>

namespace chalkfold::capture {

cv::Mat large_picture(const cv::Size& size, int type) {
  cv::Mat picture(size, type);
  constexpr std::uintptr_t page = std::uintptr_t{2}
                                  << 20;  // bytes; the usual size, and elsewhere only a coarser border
  const auto begin = reinterpret_cast<std::uintptr_t>(picture.data), end = begin + picture.total() * picture.elemSize();
  const std::uintptr_t first = (begin + page - 1) / page * page, last = end / page * page;
  // Advice: where it is not taken, all works as without it.
  if (first < last) ::madvise(picture.data + (first - begin), last - first, MADV_HUGEPAGE);
  return picture;
}

}  // namespace chalkfold::capture
