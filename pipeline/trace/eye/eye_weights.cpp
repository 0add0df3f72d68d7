// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/eye/eye_weights.h"

#include <bit>

static_assert(std::endian::native == std::endian::little, "the weights are little-endian");

// By the assembler: as text for the compiler the numbers would take it half a minute.
asm(".pushsection .rodata.chalkfold_eye, \"a\", @progbits\n"
    ".balign 64\n"
    ".globl chalkfold_eye_numbers, chalkfold_eye_numbers_end, chalkfold_eye_header, chalkfold_eye_header_end\n"
    ".hidden chalkfold_eye_numbers, chalkfold_eye_numbers_end, chalkfold_eye_header, chalkfold_eye_header_end\n"
    "chalkfold_eye_numbers: .incbin \"" CHALKFOLD_EYE
    ".f32\"\n"
    "chalkfold_eye_numbers_end:\n"
    "chalkfold_eye_header: .incbin \"" CHALKFOLD_EYE
    ".json\"\n"
    "chalkfold_eye_header_end:\n"
    ".popsection\n");

extern "C" {
extern const float chalkfold_eye_numbers[], chalkfold_eye_numbers_end[];
extern const char chalkfold_eye_header[], chalkfold_eye_header_end[];
}

namespace chalkfold::trace {

EyeWeights built_in_eye() {
  return {{chalkfold_eye_header, chalkfold_eye_header_end}, {chalkfold_eye_numbers, chalkfold_eye_numbers_end}};
}

}  // namespace chalkfold::trace
