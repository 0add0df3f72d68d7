// SPDX-License-Identifier: Apache-2.0
// Marks read on rendered photographs against the truth: prints tables; the same arguments give the same tables.
#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <atomic>
#include <exception>
#include <mutex>
#include <opencv2/core.hpp>
#include <thread>

#include "demo/scenes/mark_materials.h"
#include "tests/accuracy/mark_table.h"

namespace {

using namespace chalkfold;

struct Arguments {
  int renders = 200, threads = 2;
  std::uint64_t seed = 1;
  double contrast = 0;
  std::string material, out;
  int width_px = 4032;
  bool no_chalk = false, verbose = false;
};

/// The materials in turn, so that each gets its share whatever the number of renders.
demo::MarkSceneOptions trial_options(const Arguments& a, int index) {
  demo::MarkSceneOptions o;
  o.width_px = a.width_px;
  o.contrast = a.contrast;
  o.chalked = !a.no_chalk;
  const auto k = static_cast<std::size_t>(index);
  if (!a.material.empty())
    o.material = a.material;
  else if (a.no_chalk)
    o.material = demo::hardest_materials[k % demo::hardest_materials.size()];
  else
    o.material = demo::mark_materials[k % demo::mark_materials.size()];
  return o;
}

std::vector<accuracy::TrialResult> run_trials(const Arguments& a) {
  std::vector<accuracy::TrialResult> results(static_cast<std::size_t>(a.renders));
  std::atomic<int> next{0};
  std::exception_ptr failure;
  std::mutex mutex;
  const auto work = [&] {
    for (int k = next++; k < a.renders; k = next++) {
      try {
        const std::optional<std::filesystem::path> folder =
            a.out.empty() ? std::nullopt : std::optional<std::filesystem::path>(a.out);
        auto result = accuracy::run_trial(a.seed + static_cast<std::uint64_t>(k), trial_options(a, k), folder);
        const std::lock_guard lock(mutex);
        results[static_cast<std::size_t>(k)] = std::move(result);
        if (a.verbose) fmt::print(stderr, "{}", accuracy::line_of(results[static_cast<std::size_t>(k)]));
      } catch (...) {
        const std::lock_guard lock(mutex);
        failure = std::current_exception();
        next = a.renders;
      }
    }
  };
  std::vector<std::thread> workers;
  for (int t = 1; t < a.threads; ++t) workers.emplace_back(work);
  work();
  for (std::thread& w : workers) w.join();
  if (failure) std::rethrow_exception(failure);
  return results;
}

}  // namespace

int main(int argc, char** argv) {
  Arguments a;
  CLI::App app("Reads the marks of rendered photographs and compares them with the truth.", "chalkfold_marks_accuracy");
  app.add_option("--renders", a.renders, "number of photographs")->check(CLI::Range(1, 100000))->capture_default_str();
  app.add_option("--seed", a.seed, "of the first one")->capture_default_str();
  app.add_option(
         "--contrast", a.contrast,
         "of the chalk: its step in luminance over the material's own standard deviation, both over 2 mm; 1.5 to "
         "20 by the seed when left out")
      ->check(CLI::Range(0.1, 1000.0));
  app.add_option("--material", a.material, "one material only; all in turn when left out")
      ->check(CLI::IsMember(std::vector<std::string>(demo::mark_materials.begin(), demo::mark_materials.end())));
  app.add_flag("--no-chalk", a.no_chalk,
               "panels without any mark, of the hardest materials: whatever is found is false");
  app.add_option("--width", a.width_px, "long side of the photographs, px")
      ->check(CLI::Range(1600, 12000))
      ->capture_default_str();
  app.add_option("--threads", a.threads, "photographs at a time")->check(CLI::Range(1, 64))->capture_default_str();
  app.add_option("--out", a.out, "folder for the photographs and their truth files");
  app.add_flag("--verbose", a.verbose, "a line for each photograph on stderr, in the order in which they are done");
  CLI11_PARSE(app, argc, argv);
  try {
    cv::setNumThreads(1);  // the photographs are the unit of work
    fmt::print("{}", accuracy::table_of(run_trials(a)));
  } catch (const std::exception& error) {
    fmt::print(stderr, "chalkfold_marks_accuracy: {}\n", error.what());
    return 1;
  }
  return 0;
}
