// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>
#include <sys/wait.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <exception>
#include <filesystem>
#include <string>

#include "demo/camera/photo_file.h"
#include "demo/scenes/scenes.h"
#include "pipeline/common/error.h"
#include "tests/bench/batch_bench.h"
#include "tests/bench/draft_bench.h"
#include "tests/bench/eye_bench.h"
#include "tests/bench/layout_bench.h"
#include "tests/bench/photo_bench.h"
#include "tests/bench/set_bench.h"
#include "tests/shared_data.h"

namespace {
namespace fs = std::filesystem;
using namespace chalkfold;

/// A folder that goes away with the program.
class ScratchFolder {
 public:
  ScratchFolder() : path_(fs::temp_directory_path() / fmt::format("chalkfold-bench-{}", ::getpid())) {
    fs::create_directories(path_);
  }
  ~ScratchFolder() {
    std::error_code none;
    fs::remove_all(path_, none);
  }
  ScratchFolder(const ScratchFolder&) = delete;
  ScratchFolder& operator=(const ScratchFolder&) = delete;
  const fs::path& path() const { return path_; }

 private:
  fs::path path_;
};

/// Rendered by a process of its own, so that the renderer's memory does not count as the program's.
fs::path rendered_photo(const fs::path& folder) {
  const demo::Scene scene = demo::launch_scene(0);
  const pid_t renderer = ::fork();
  if (renderer == 0) {
    try {
      demo::write_photo(scene, folder);
    } catch (const std::exception& error) {
      fmt::print(stderr, "chalkfold_bench: {}\n", error.what());
      ::_exit(1);
    }
    ::_exit(0);
  }
  int status = 0;
  if (renderer < 0 || ::waitpid(renderer, &status, 0) != renderer || status != 0)
    throw FileError("the photograph could not be rendered");
  return folder / (scene.name + ".jpg");
}

/// The first photograph of the shared data, or else one rendered now: 12 Mpx, four sheets, one panel either way.
fs::path default_photo(const fs::path& scratch) {
  if (const auto shared = shared_data()) {
    const fs::path photo = *shared / "photos" / "d01.jpg";
    if (fs::exists(photo)) return photo;
  }
  return rendered_photo(scratch);
}

void print_line(const bench::Timing& timing, double decode) {
  fmt::print("{:<26}{:9.0f}{:9.2f}\n", timing.stage, 1e3 * timing.seconds, timing.seconds / decode);
}

void print_table(const bench::BenchOptions& options, const bench::BenchResult& r) {
  fmt::print("{}: {} x {} px, {} sheets, {} panels; one thread, CPU time, median of {}\n\n",
             options.photo.filename().string(), r.width, r.height, r.sheets, r.panels, options.rounds);
  fmt::print("{:<26}{:>9}{:>9}\n", "", "ms", "x decode");
  print_line({"cv::imdecode", r.decode}, r.decode);
  for (const bench::Timing& stage : r.stages) print_line(stage, r.decode);
  print_line(r.whole, r.decode);
  fmt::print("{:<26}{:9.0f} MB\n", "peak memory so far", r.peak_mb);
  if (r.grabcut.stage.empty()) return;
  fmt::print("\nFor comparison, the coarse outline alone by another way (median of {}):\n", options.grabcut_rounds);
  print_line(r.grabcut, r.decode);
  fmt::print("{:<26}{:9.0f} MB\n", "peak memory with it", r.peak_with_grabcut_mb);
}

/// Whole runs: how the cost of a photo and the memory go with their number and with threads.
void print_batch(const bench::BenchOptions& options, int most) {
  fmt::print("{:>7}{:>9}{:>9}{:>15}{:>15}{:>9}\n", "photos", "threads", "s", "s a photo", "CPU s a photo", "MB");
  double one_thread = 0;
  for (const auto& [photos, threads] : {std::pair{6, 1}, {24, 1}, {24, 2}, {48, 2}, {96, 2}}) {
    if (photos > most) continue;
    const bench::BatchTiming t = bench::bench_batch(options.photo, options.thickness, options.scratch, photos, threads);
    fmt::print("{:7}{:9}{:9.1f}{:15.2f}{:15.2f}{:9.0f}", t.photos, t.threads, t.seconds, t.seconds / photos,
               t.cpu_seconds / photos, t.peak_mb);
    if (photos == 24 && threads == 1) one_thread = t.seconds;
    if (photos == 24 && threads == 2) fmt::print("   {:.2f} x faster than one thread", one_thread / t.seconds);
    fmt::print("\n");
    std::fflush(stdout);
  }
}

}  // namespace

int main(int argc, char** argv) {
  bench::BenchOptions options;
  std::string photo;
  CLI::App app("Times every stage of chalkfold on one photo, as multiples of the time to decode it.",
               "chalkfold_bench");
  app.add_option("PHOTO", photo,
                 "photo with sheets and a panel; without it a photograph of the shared data, or else a rendered one");
  app.add_option("--thickness-mm", options.thickness, "of the panels in it")->capture_default_str();
  app.add_option("--rounds", options.rounds, "the median of so many counts")
      ->check(CLI::Range(1, 1000))
      ->capture_default_str();
  app.add_option("--grabcut-rounds", options.grabcut_rounds,
                 "the same for the comparison, a minute or more each; 0 leaves it out")
      ->check(CLI::Range(0, 1000))
      ->capture_default_str();
  int batch = 0;
  app.add_option("--batch", batch,
                 "instead of that: whole runs over up to so many copies of the photo, 6, 24, 48 and 96")
      ->check(CLI::Range(6, 96));
  CLI11_PARSE(app, argc, argv);
  try {
    const ScratchFolder scratch;
    options.scratch = scratch.path();
    options.photo = photo.empty() ? default_photo(scratch.path()) : fs::path(photo);
    if (batch > 0) {
      print_batch(options, batch);
      return 0;
    }
    const bench::EyeTiming eye = bench::bench_eye(options.rounds);  // first, while memory says what it alone takes
    const bench::BenchResult result = bench::bench_photo(options);
    print_table(options, result);
    fmt::print("\nthe network's look at {} x {} px, one thread: {:.0f} ms, {:.2f} x decode, {:.0f} MB\n", eye.width,
               eye.height, 1e3 * eye.seconds, eye.seconds / result.decode, eye.memory_mb);
    constexpr int pieces = 30;
    const bench::DraftTiming draft = bench::bench_draft(options.photo, options.thickness, scratch.path(), pieces);
    fmt::print("\n{} pieces from measured JSON, one thread: {:.0f} ms, {:.2f} x decode (drafting alone {:.0f} ms)\n",
               draft.pieces, 1e3 * draft.seconds, draft.seconds / result.decode, 1e3 * draft.draft_seconds);
    const bench::LayoutTiming layout = bench::bench_layout();
    fmt::print(
        "{} pieces laid on a roll: {:.0f} ms straight ({:.0f} % of the roll is pieces), {:.0f} ms in quarter turns "
        "({:.0f} %)\n",
        layout.pieces, 1e3 * layout.straight, 100 * layout.straight_share, 1e3 * layout.quarter_turns,
        100 * layout.quarter_share);
    const bench::SetTiming set = bench::bench_set();
    fmt::print(
        "{} pieces with {} seams adjusted, one thread: {:.0f} ms, {:.2f} x decode (seams left with {:.4f} mm); "
        "seams proposed: {:.0f} ms\n",
        set.pieces, set.seams, 1e3 * set.adjust_seconds, set.adjust_seconds / result.decode, set.worst,
        1e3 * set.propose_seconds);
  } catch (const UserError& error) {
    fmt::print(stderr, "chalkfold_bench: {}\n", error.what());
    return static_cast<int>(error.exit_code());
  } catch (const std::exception& error) {
    fmt::print(stderr, "chalkfold_bench: {}\n", error.what());
    return 1;
  }
  return 0;
}
