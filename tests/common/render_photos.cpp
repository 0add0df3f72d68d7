// SPDX-License-Identifier: Apache-2.0
// Renders the photographs that the tests of the whole program share, once for a build.
//   render_photos FOLDER
#include <cstdio>
#include <exception>
#include <string>
#include <vector>

#include "demo/camera/photo_file.h"
#include "demo/scenes/scene_layout.h"
#include "demo/scenes/scenes.h"

namespace {
using namespace chalkfold::demo;

/// Half the width of a phone's photo, so that they are rendered and measured in a fourth of the time; panels keep 1.3
/// px/mm or more.
constexpr int half_width_px = 2016;

/// Chalk on a hide, of its own unevenness: the faintest that is always to be found.
constexpr double faintest_ring = 3;

/// Sharp enough for the markers to be read, too soft to measure: between SightingOptions::max_blur_px (2.5) and what
/// hides the markers (about half a module of 10 px).
Scene slightly_out_of_focus() {
  Scene scene = fault_scene(FaultScene::out_of_focus);
  scene.name = "slightly-out-of-focus";
  scene.sensor.blur_px = 3.5;
  return scene;
}

/// Of the photographs for a lens profile, some that lean each another way, and four of the same sheets from straight above.
void write_lens_photos(const char* folder) {
  const std::vector<Scene> scenes = lens_scenes(half_width_px);
  for (const std::size_t k : {0U, 2U, 4U, 5U, 8U, 11U}) write_photo(scenes[k], folder);
  for (std::size_t k = 0; k < 4; ++k) {
    Scene scene = scenes[k];
    scene.name = "straight-" + std::to_string(k + 1);
    const double aside = 15.0 * static_cast<double>(k);  // mm
    scene.camera.pose = pose_at({{aside, -aside}, 430 + aside, 0, 90, 90 + aside / 10});
    write_photo(scene, folder);
  }
}
}  // namespace

int main(int argc, char** argv) {
  if (argc != 2) return 2;
  try {
    for (const Scene& scene : fault_scenes(half_width_px)) write_photo(scene, argv[1]);
    write_photo(flag_scene(1, half_width_px), argv[1]);
    write_photo(worn_scene(half_width_px), argv[1]);
    for (const bool after : {false, true}) write_photo(changed_scene(after, half_width_px), argv[1]);
    for (const Scene& scene : bench_scenes(half_width_px)) write_photo(scene, argv[1]);
    for (const Scene& scene : mosaic_scenes(half_width_px)) write_photo(scene, argv[1]);
    for (const Scene& scene : hide_scenes(half_width_px, faintest_ring)) write_photo(scene, argv[1]);
    write_photo(slightly_out_of_focus(), argv[1]);
    write_lens_photos(argv[1]);
  } catch (const std::exception& e) {
    std::fprintf(stderr, "render_photos: %s\n", e.what());
    return 1;
  }
  return 0;
}
