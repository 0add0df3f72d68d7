// SPDX-License-Identifier: Apache-2.0
#pragma once

namespace chalkfold::trace {

/// Which instructions the network runs with. Every number is the same sums and products in the same order either way, so that the bytes are the same.
enum class Instructions { plain, avx2 };

/// The fastest that this processor has.
inline Instructions best_instructions() {
#ifdef __x86_64__
  if (__builtin_cpu_supports("avx2")) return Instructions::avx2;
#endif
  return Instructions::plain;
}

}  // namespace chalkfold::trace
