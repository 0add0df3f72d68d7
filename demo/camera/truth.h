// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <nlohmann/json_fwd.hpp>

#include "demo/base/scene.h"
#include "demo/camera/phone.h"

namespace chalkfold::demo {

/// What is true of a scene's photograph. Keys: photo, camera (of the upright picture), camera_stored_pixels (its lens
/// as stored), stored_orientation, tilt_deg, camera_height_mm, sheets, sheet_plane_z, print_scale, tags, panels, blur,
/// seed. Lengths in mm in the table frame to 1e-4, angles in rad unless the name ends in _deg. `panels[].outline` has V
/// and U notches cut; slits and fraying left out; `outline_without_notches` is the plain edge. Only where there are any: `kind`, `papers`
/// (blank ones, their corners), `panels[].slots` (mouth, end, direction into the panel, width_mm, depth_mm), `panels[].inner_corners` (at,
/// angle_rad).
nlohmann::json truth(const Scene& scene);

/// What a phone did: iso, blur_px, motion_px, motion_direction_rad, lateral_colour_px, denoise, local, sharpen, quality.
nlohmann::json phone_json(const PhoneOptions& phone);

}  // namespace chalkfold::demo
