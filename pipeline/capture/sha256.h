// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <span>
#include <string>

namespace chalkfold::capture {

/// SHA-256 (FIPS 180-4) of the bytes, as 64 lower-case hex digits. Throws std::runtime_error when the crypto library
/// refuses.
std::string sha256_hex(std::span<const std::uint8_t> bytes);

}  // namespace chalkfold::capture
