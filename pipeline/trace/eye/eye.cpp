// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/eye/eye.h"

#include "pipeline/common/require.h"
#include "pipeline/trace/eye/eye_input.h"
#include "pipeline/trace/eye/eye_network.h"

namespace chalkfold::trace {

EyeMaps look(const EyeInput& input) {
  require(!input.code.empty() && input.code.type() == CV_8UC3, "a picture of three bytes a pixel is needed");
  for (const cv::Mat* mask : {&input.paper, &input.ink, &input.visible})
    require(mask->type() == CV_8U && mask->size() == input.code.size(),
            "masks of the picture's size are needed, CV_8U");
  require_above("mm_per_px", input.mm_per_px, 0);
  std::vector<cv::Mat> maps = run_eye(eye_channels(input, eye_step), input.mm_per_px);
  for (cv::Mat& m : maps) m = m(cv::Rect({}, input.code.size())).clone();
  return {maps[0], maps[1], maps[2], maps[3], maps[4], maps[5]};
}

}  // namespace chalkfold::trace
