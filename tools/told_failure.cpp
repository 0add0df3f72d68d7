// SPDX-License-Identifier: Apache-2.0
#include "tools/told_failure.h"

#include <fmt/format.h>

#include <cstdio>
#include <filesystem>
#include <new>

#include "pipeline/common/error.h"
#include "tools/stop_signal.h"

namespace chalkfold::tools {

namespace {
int failed(ExitCode exit_code, const char* what) {
  fmt::print(stderr, "chalkfold: {}\n", what);
  return static_cast<int>(exit_code);
}

int failed_inside(const char* what) {
  fmt::print(stderr, "chalkfold: the program failed: {}\nPlease report this with the photos and the command.\n", what);
  return static_cast<int>(ExitCode::internal);
}
}  // namespace

int told_failure(const std::function<int()>& program) {
  try {
    return program();
  } catch (const Interrupted& error) {
    return failed(stopped_exit_code(), error.what());
  } catch (const UserError& error) {
    return failed(error.exit_code(), error.what());
  } catch (const std::filesystem::filesystem_error& error) {
    return failed(ExitCode::file, error.what());
  } catch (const std::bad_alloc&) {
    return failed_inside("memory ran out");
  } catch (const std::exception& error) {
    return failed_inside(error.what());
  } catch (...) {
    return failed_inside("something unknown was thrown");
  }
}

}  // namespace chalkfold::tools
