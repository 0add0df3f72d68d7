// SPDX-License-Identifier: Apache-2.0
#include "pipeline/common/version.h"

#include <gtest/gtest.h>

TEST(Version, IsTheProjects) { EXPECT_EQ(chalkfold::program_version(), CHALKFOLD_CMAKE_VERSION); }
