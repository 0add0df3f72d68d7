// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <exception>
#include <optional>
#include <string>

#include "demo/camera/phone.h"
#include "demo/camera/photo_file.h"
#include "demo/scenes/hard_scene.h"
#include "demo/scenes/mark_materials.h"
#include "demo/scenes/mark_scene.h"
#include "demo/scenes/scene_layout.h"
#include "demo/scenes/scenes.h"
#include "pipeline/common/error.h"

namespace {

using namespace chalkfold;

struct Arguments {
  std::string out, set = "launch";
  std::uint64_t seed = 1;
  int count = 4, width_px = 4032;
  demo::MarkSceneOptions marks{};
  std::string kind;
  bool no_chalk = false, as_phone = false;
};

std::vector<demo::Scene> scenes_of(const Arguments& a) {
  std::vector<demo::Scene> out;
  if (a.set == "faults") return demo::fault_scenes(a.width_px);
  if (a.set == "flag") return {demo::flag_scene(a.seed, a.width_px)};
  if (a.set == "worn") return {demo::worn_scene(a.width_px)};
  if (a.set == "bench") return demo::bench_scenes(a.width_px);
  if (a.set == "mosaic") return demo::mosaic_scenes(a.width_px);
  if (a.set == "hide") return demo::hide_scenes(a.width_px, a.marks.contrast > 0 ? a.marks.contrast : 5);
  if (a.set == "offcut") {
    for (int k = 0; k < a.count; ++k)
      out.push_back(demo::offcut_scene(a.seed + static_cast<std::uint64_t>(k),
                                       a.marks.contrast > 0 ? a.marks.contrast : 5,
                                       a.marks.material.empty() ? "grained-leather" : a.marks.material, a.width_px));
    return out;
  }
  if (a.set == "lens") return demo::lens_scenes(a.width_px);
  if (a.set == "one-sheet") return demo::one_sheet_scenes(a.width_px);
  if (a.set == "changed") return {demo::changed_scene(false, a.width_px), demo::changed_scene(true, a.width_px)};
  if (a.set == "random") {
    demo::RandomSceneOptions options;
    options.width_px = a.width_px;
    options.sensor = demo::phone_sensor();
    for (int k = 0; k < a.count; ++k)
      out.push_back(demo::random_scene(a.seed + static_cast<std::uint64_t>(k), options));
    return out;
  }
  if (a.set == "hard") {
    for (int k = 0; k < a.count; ++k)
      out.push_back(demo::hard_scene(a.seed + static_cast<std::uint64_t>(k), {.width_px = a.width_px, .kind = a.kind}));
    return out;
  }
  if (a.set == "marks") {
    demo::MarkSceneOptions options = a.marks;
    options.width_px = a.width_px;
    options.chalked = !a.no_chalk;
    for (int k = 0; k < a.count; ++k)
      out.push_back(demo::mark_scene(a.seed + static_cast<std::uint64_t>(k), options).scene);
    return out;
  }
  return demo::launch_job(a.width_px);
}

int run(int argc, char** argv) {
  Arguments a;
  CLI::App app("Renders photographs of an invented set of seat panels, each with its truth beside it.",
               "chalkfold-demo");
  app.add_option("--out", a.out, "folder to write NAME.jpg and NAME.truth.json into")->required();
  app.add_option("--set", a.set, "which photographs")
      ->check(CLI::IsMember({"launch", "random", "faults", "flag", "worn", "bench", "mosaic", "changed", "marks",
                             "lens", "one-sheet", "hide", "offcut", "hard"}))
      ->capture_default_str();
  app.add_option("--seed", a.seed, "first seed of --set random, hard or marks, or of the flag")->capture_default_str();
  app.add_option("--count", a.count, "number of photographs of --set random, hard or marks")
      ->check(CLI::Range(1, 10000))
      ->capture_default_str();
  app.add_option("--width", a.width_px, "long side of the photographs, px")
      ->check(CLI::Range(640, 12000))
      ->capture_default_str();
  app.add_option("--kind", a.kind, "of the untidy photographs of --set hard; all in turn by the seed when left out")
      ->check(CLI::IsMember(std::vector<std::string>(demo::hard_kinds.begin(), demo::hard_kinds.end())));
  app.add_option("--material", a.marks.material, "of the panels of --set marks; by the seed when left out")
      ->check(CLI::IsMember(std::vector<std::string>(demo::mark_materials.begin(), demo::mark_materials.end())));
  app.add_option("--contrast", a.marks.contrast,
                 "of the chalk of --set marks: its step in luminance over the material's own standard deviation, both "
                 "over 2 mm; by the seed when left out")
      ->check(CLI::Range(0.1, 1000.0));
  app.add_option("--chalk-width-mm", a.marks.chalk_width, "of the chalk of --set marks; by the seed when left out")
      ->check(CLI::Range(0.5, 8.0));
  app.add_flag("--no-chalk", a.no_chalk, "--set marks without any mark");
  app.add_flag(
      "--as-phone", a.as_phone,
      "with what a phone makes of the light: mosaic and noise, denoising, local tones, halos, lateral colour, a "
      "moving hand, 4:2:0 JPEG; how much of each goes by the scene's seed and stands in its truth");
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& e) {
    return app.exit(e) == 0 ? 0 : static_cast<int>(ExitCode::usage);
  }
  for (const demo::Scene& scene : scenes_of(a)) {
    demo::write_photo(scene, a.out, a.as_phone ? std::optional(demo::random_phone(scene.seed)) : std::nullopt);
    fmt::print("{}/{}.jpg\n", a.out, scene.name);
  }
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  try {
    return run(argc, argv);
  } catch (const chalkfold::UserError& e) {
    fmt::print(stderr, "chalkfold-demo: {}\n", e.what());
    return static_cast<int>(e.exit_code());
  } catch (const std::exception& e) {
    fmt::print(stderr, "chalkfold-demo: the program failed: {}\n", e.what());
    return static_cast<int>(chalkfold::ExitCode::file);
  }
}
