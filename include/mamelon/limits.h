#pragma once
/// @file
/// How much is taken in. What lies beyond is refused with one sentence before it costs memory:
/// files come from patients' folders, phones and other people's spreadsheets.

#include <cstddef>

namespace mamelon::limits {

/// Pixels of a photo, and of its shorter side.
inline constexpr std::size_t photo_pixels = std::size_t{160} * 1000 * 1000;
inline constexpr std::size_t photo_side_least_px = 240;
inline constexpr std::size_t photo_bytes = std::size_t{1} << 31U;
/// Bytes of a JSON document of ours, and how deep it nests.
inline constexpr std::size_t document_bytes = std::size_t{64} << 20U;
inline constexpr int document_depth = 32;
/// Bytes and rows of a table of measurements.
inline constexpr std::size_t table_bytes = std::size_t{1} << 30U;
inline constexpr std::size_t table_rows = 10'000'000;
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
