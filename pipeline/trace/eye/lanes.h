// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstring>

namespace chalkfold::trace {

// Code for both kinds of Instructions is written once for a vector type V and always inlined, into a function for avx2 and into one for what every processor has. Fused
// multiply-add is in neither: it rounds once where other processors round twice.
#ifdef __x86_64__
#define CHALKFOLD_AVX2 [[gnu::target("avx2")]]
#else
#define CHALKFOLD_AVX2
#endif

/// Floats that are worked on at a time: an SSE2 or NEON register, or one of AVX. Sums and products of vectors are those of their floats, one by one.
using Four [[gnu::vector_size(16)]] = float;
using Eight [[gnu::vector_size(32)]] = float;

template <class V>
[[gnu::always_inline]] inline void load(V& v, const float* from) {
  std::memcpy(&v, from, sizeof v);
}

template <class V>
[[gnu::always_inline]] inline void store(float* to, const V& v) {
  std::memcpy(to, &v, sizeof v);
}

}  // namespace chalkfold::trace
