// SPDX-License-Identifier: Apache-2.0
#include "demo/scenes/scene_parts.h"

#include "demo/camera/sensor.h"

namespace chalkfold::demo {

Scene planned(const PhotoPlan& plan, std::uint64_t seed, int width_px) {
  Scene scene;
  scene.name = plan.name;
  scene.seed = seed;
  const calib::Lens phone = phone_lens(width_px);
  scene.focal_35mm = focal_35mm(phone);
  scene.camera.lens = for_one_photo(phone, plan.focal_change, plan.centre_shift_px);
  scene.camera.orientation = plan.orientation;
  scene.camera.pose = pose_at(plan.camera);
  scene.sensor = phone_sensor();
  scene.print_scale = {1.0, 1.0};
  return scene;
}

geometry::Rigid2 placed(double x, double y, double turn_deg) { return {turn_deg * degree, {x, y}}; }

Table table_of(TableTop top, std::uint32_t srgb, double turn_deg, std::uint32_t seed) {
  return {.top = top, .colour = colour_from_srgb(srgb), .turn = static_cast<float>(turn_deg * degree), .seed = seed};
}

Material covering(Covering kind, std::uint32_t srgb, std::uint32_t seed) {
  return {
      .covering = kind, .colour = colour_from_srgb(srgb), .second = colour_from_srgb(srgb), .period = 24, .seed = seed};
}

}  // namespace chalkfold::demo
