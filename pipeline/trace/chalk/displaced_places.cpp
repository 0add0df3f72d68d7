// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/chalk/displaced_places.h"

namespace chalkfold::trace {
namespace {

double halton(int index, int base) {
  double f = 1, value = 0;
  for (int i = index; i > 0; i /= base) {
    f /= base;
    value += f * (i % base);
  }
  return value;
}

}  // namespace

Vec2 displaced_shift(const PanelPicture& picture, const Vec2& middle, int i) {
  const Vec2 low = picture.raster.table_from_raster({0, static_cast<double>(picture.raster.size.height - 1)});
  const Vec2 size = Vec2(picture.raster.size.width - 1, picture.raster.size.height - 1) * picture.raster.mm_per_px;
  const Vec2 to = low + Vec2(halton(i, 2), halton(i, 3)).cwiseProduct(size);
  return to - middle;
}

}  // namespace chalkfold::trace
