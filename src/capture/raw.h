#pragma once
// Camera raw files, told from other pictures and read as linear camera RGB.

#include <cstddef>
#include <span>
#include <string>
#include <string_view>

#include "capture/raster.h"

namespace mamelon::detail {

// Whether the bytes begin as a camera's raw file or a DNG does; a TIFF that holds an RGB picture of
// its own is none.
bool is_camera_raw(std::span<const std::byte> bytes);

// The sensor's values less black, in proportion to light, in the camera's own primaries: no white
// balance, no tone curve, no automatic brightness. 65535 stands where a photosite that the pixel is
// made of was at its saturation, and nowhere else. Throws DataError for a file that cannot be
// unpacked, CaptureError for a sensor that sees no three colours, or where mamelon was built
// without a raw reader.
void decode_raw(std::span<const std::byte> bytes, const std::string& source,
                const RasterSink& sink);

}  // namespace mamelon::detail
