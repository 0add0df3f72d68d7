// SPDX-License-Identifier: Apache-2.0
#include "tests/bench/batch_bench.h"

#include <fmt/format.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <fstream>
#include <iterator>
#include <stdexcept>
#include <string>

namespace chalkfold::bench {
namespace {
namespace fs = std::filesystem;

std::vector<std::string> copies_of(const fs::path& photo, const fs::path& folder, int count) {
  std::ifstream in(photo, std::ios::binary);
  const std::string bytes{std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
  if (bytes.empty()) throw std::runtime_error("bench_batch: cannot read " + photo.string());
  std::vector<std::string> files;
  for (int i = 0; i < count; ++i) {
    files.push_back((folder / fmt::format("copy-{:03}{}", i, photo.extension().string())).string());
    std::ofstream out(files.back(), std::ios::binary);
    out << bytes << fmt::format("{}", i);
    if (!out.flush()) throw std::runtime_error("bench_batch: cannot write " + files.back());
  }
  return files;
}

double seconds_of(const timeval& t) { return static_cast<double>(t.tv_sec) + 1e-6 * static_cast<double>(t.tv_usec); }

}  // namespace

BatchTiming bench_batch(const fs::path& photo, double thickness, const fs::path& scratch, int photos, int threads) {
  const fs::path folder = scratch / fmt::format("batch-{}-{}", photos, threads);
  fs::create_directories(folder);
  std::vector<std::string> words = {CHALKFOLD_PROGRAM, "run"};
  for (std::string& file : copies_of(photo, folder, photos)) words.push_back(std::move(file));
  for (const std::string& word :
       {std::string("--out"), (folder / "out").string(), std::string("--quiet"), std::string("--thickness-mm"),
        fmt::format("{:g}", thickness), std::string("--threads"), fmt::format("{}", threads)})
    words.push_back(word);
  std::vector<char*> arguments;
  for (std::string& word : words) arguments.push_back(word.data());
  arguments.push_back(nullptr);
  const auto begun = std::chrono::steady_clock::now();
  const pid_t child = ::fork();
  if (child == 0) {
    ::execv(arguments[0], arguments.data());
    ::_exit(127);
  }
  int status = 0;
  rusage usage{};
  if (child < 0 || ::wait4(child, &status, 0, &usage) != child || !WIFEXITED(status) || WEXITSTATUS(status) > 1)
    throw std::runtime_error("bench_batch: the program failed");
  BatchTiming timing{photos, threads, std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count(),
                     seconds_of(usage.ru_utime) + seconds_of(usage.ru_stime),
                     static_cast<double>(usage.ru_maxrss) / 1024};
  fs::remove_all(folder);
  return timing;
}

}  // namespace chalkfold::bench
