// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <exception>
#include <string>

#include "demo/photo_file.h"
#include "demo/scene_layout.h"
#include "demo/scenes.h"
#include "pipeline/common/error.h"

namespace {

using namespace chalkfold;

struct Arguments {
  std::string out, set = "launch";
  std::uint64_t seed = 1;
  int count = 4, width_px = 4032;
};

std::vector<demo::Scene> scenes_of(const Arguments& a) {
  std::vector<demo::Scene> out;
  if (a.set == "faults") return demo::fault_scenes(a.width_px);
  if (a.set == "flag") return {demo::flag_scene(a.seed, a.width_px)};
  if (a.set == "random") {
    demo::RandomSceneOptions options;
    options.width_px = a.width_px;
    options.sensor = demo::phone_sensor();
    for (int k = 0; k < a.count; ++k)
      out.push_back(demo::random_scene(a.seed + static_cast<std::uint64_t>(k), options));
    return out;
  }
  for (int k = 0; k < demo::launch_photos; ++k) out.push_back(demo::launch_scene(k, a.width_px));
  return out;
}

int run(int argc, char** argv) {
  Arguments a;
  CLI::App app("Renders photographs of an invented set of seat panels, each with its truth beside it.",
               "chalkfold-demo");
  app.add_option("--out", a.out, "folder to write NAME.jpg and NAME.truth.json into")->required();
  app.add_option("--set", a.set, "which photographs")
      ->check(CLI::IsMember({"launch", "random", "faults", "flag"}))
      ->capture_default_str();
  app.add_option("--seed", a.seed, "first seed of --set random, or of the flag")->capture_default_str();
  app.add_option("--count", a.count, "number of photographs of --set random")
      ->check(CLI::Range(1, 10000))
      ->capture_default_str();
  app.add_option("--width", a.width_px, "long side of the photographs, px")
      ->check(CLI::Range(640, 12000))
      ->capture_default_str();
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& e) {
    return app.exit(e) == 0 ? 0 : static_cast<int>(ExitCode::usage);
  }
  for (const demo::Scene& scene : scenes_of(a)) {
    demo::write_photo(scene, a.out);
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
