#pragma once
/// @file
/// How much is taken in. What lies beyond is refused with one sentence before it costs memory:
/// files come from patients' folders, phones and other people's spreadsheets. Every reader takes
/// time in proportion to the file's size.

#include <cstddef>

namespace mamelon::limits {

/// The one limit of memory. A decoded picture takes at most this much, 3 bytes a pixel at 8 bits
/// and 6 at 16 bits or through a profile's tables; so do the readings of a file; and so does all
/// that any reader needs beside what it gives.
inline constexpr std::size_t memory_bytes = std::size_t{512} << 20U;
/// Pixels of a photo, and of its shorter side.
inline constexpr std::size_t photo_pixels = std::size_t{160} * 1000 * 1000;
inline constexpr std::size_t photo_side_least_px = 240;
inline constexpr std::size_t photo_bytes = memory_bytes;
/// Bytes of a photo's ICC profile, and scans of a progressive JPEG (10 are usual).
inline constexpr std::size_t profile_bytes = std::size_t{16} << 20U;
inline constexpr int jpeg_scans = 64;
/// Bytes of a JSON document of ours, and how deep it nests.
inline constexpr std::size_t document_bytes = std::size_t{64} << 20U;
inline constexpr std::size_t document_depth = 32;
/// Values, lists and objects of a JSON document together.
inline constexpr std::size_t document_values = 2'000'000;
/// Bytes and rows of a table of measurements as CSV or ISO 28178 text, bytes and cells of one row,
/// and tables in one file.
inline constexpr std::size_t table_bytes = std::size_t{4} << 30U;
inline constexpr std::size_t table_rows = 10'000'000;
inline constexpr std::size_t table_row_bytes = std::size_t{1} << 20U;
inline constexpr std::size_t table_columns = 10'000;
inline constexpr std::size_t tables = 100;
/// Bytes of a CxF file, and its elements and attributes together.
inline constexpr std::size_t cxf_bytes = std::size_t{64} << 20U;
inline constexpr std::size_t cxf_parts = 4'000'000;
/// Bands of a spectrum.
inline constexpr std::size_t spectrum_bands = 5000;
inline constexpr std::size_t tabs = 10'000;
inline constexpr std::size_t pastes = 1000;
/// Drawdowns of a fit, repeats averaged, and its bands: its covariance grows with their square.
inline constexpr std::size_t fit_drawdowns = 200;
inline constexpr std::size_t fit_bands = 500;
/// Layers of a stack that is predicted, and of a plan.
inline constexpr std::size_t stack_layers = 1000;
inline constexpr std::size_t plan_layers = 3;
inline constexpr double plan_depth_mm = 20;
/// Lights of a plan beside the target's own.
inline constexpr std::size_t plan_illuminants = 15;

}  // namespace mamelon::limits
