// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <string_view>

namespace chalkfold {

/// Writes the bytes under a temporary name in the same folder, flushes them to the disk and renames: afterwards `file`
/// is the whole new file, or on failure what it was before, with no temporary left. A link is followed. Throws
/// FileError, naming the path, the system's reason and what to do, when the folder is missing or not writable, the disk
/// is full, or `file` exists and is not a regular file.
void write_file_atomically(const std::filesystem::path& file, std::string_view bytes);

/// Makes a folder and its parents if need be. Throws FileError as above.
void make_folder(const std::filesystem::path& folder);

}  // namespace chalkfold
