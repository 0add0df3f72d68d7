// SPDX-License-Identifier: Apache-2.0
#include "pipeline/capture/sha256.h"

#include <gtest/gtest.h>

#include <string_view>

namespace chalkfold::capture {
namespace {

std::string sha256_of(std::string_view text) {
  return sha256_hex({reinterpret_cast<const std::uint8_t*>(text.data()), text.size()});
}

// The examples published with FIPS 180-2.
TEST(Sha256, GivesThePublishedDigests) {
  EXPECT_EQ(sha256_of("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  EXPECT_EQ(sha256_of("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq"),
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
  EXPECT_EQ(sha256_of(""), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}

}  // namespace
}  // namespace chalkfold::capture
