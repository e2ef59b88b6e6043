#pragma once
/// @file
/// Colour arithmetic over many values at once, by SIMD instructions chosen at run time and by
/// threads. Every result depends on its own input alone: the same bits for any number of threads,
/// any neighbour and any place in the array.
///
/// `T` is float or double. In double the bits do not depend on the processor either; in float the
/// last bits may.

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>

#include "mamelon/difference.h"
#include "mamelon/viewing.h"

namespace mamelon {

/// Many CIELAB colours that live elsewhere: interleaved L, a, b, or three columns. No copy is made.
template <class T>
class LabRows {
 public:
  /// `lab` holds L, a, b of each colour in turn. Throws ArgumentError unless its size is a
  /// multiple of 3.
  static LabRows interleaved(std::span<const T> lab);
  /// One array each for L, a and b. Throws ArgumentError unless the sizes are equal.
  static LabRows columns(std::span<const T> l, std::span<const T> a, std::span<const T> b);

  /// How many rows.
  [[nodiscard]] std::size_t size() const noexcept { return size_; }
  /// Whether L, a, b of a row stand together.
  [[nodiscard]] bool is_interleaved() const noexcept { return interleaved_; }
  /// First value of L, a or b (c = 0, 1, 2).
  [[nodiscard]] const T* column(std::size_t c) const noexcept { return columns_[c]; }

 private:
  std::array<const T*, 3> columns_{};
  std::size_t size_ = 0;
  bool interleaved_ = false;
};

extern template class LabRows<float>;
extern template class LabRows<double>;

/// How rows are worked on.
struct BatchOptions {
  DifferenceWeights weights{};  ///< of CIEDE2000
  bool squared = false;         ///< give ΔE²: enough to find the smallest, and cheaper
  std::size_t threads = 0;      ///< 0: as many as the machine has
};

/// CIEDE2000 (see `de00`) of each row of `reference` with the same row of `sample`.
///
/// Largest error against `de00` in CIELAB: 1e-11 in double, 1e-4 in float. Symmetric to the bit,
/// exactly 0 for equal colours; a row with a NaN gives NaN. Chroma up to 10 000. Throws
/// ArgumentError when the sizes differ or a weight is not positive.
template <class T>
void de00_rows(const LabRows<T>& reference, const LabRows<T>& sample, std::span<T> de,
               const BatchOptions& options = {});

/// CIEDE2000 of every row with every column: `de[i * columns.size() + j]`. Throws ArgumentError
/// when `de` has another size than the product.
template <class T>
void de00_table(const LabRows<T>& rows, const LabRows<T>& columns, std::span<T> de,
                const BatchOptions& options = {});

/// Stands in `index` where a colour with a NaN has no nearest.
inline constexpr std::uint32_t no_nearest = 0xFFFFFFFF;

/// The candidate nearest to each colour by CIEDE2000, and its difference (ΔE² when
/// `options.squared`; NaN where there is none). Of equally near candidates the first is taken.
/// An image is its pixels in turn. Throws ArgumentError when the sizes differ or there is no
/// candidate.
template <class T>
void nearest_rows(const LabRows<T>& colours, const LabRows<T>& candidates,
                  std::span<std::uint32_t> index, std::span<T> de,
                  const BatchOptions& options = {});

/// CIELAB difference ΔE*ab (ISO/CIE 11664-4) of each row of `reference` with the same row of
/// `sample`; the weights of `options` are not used.
template <class T>
void de76_rows(const LabRows<T>& reference, const LabRows<T>& sample, std::span<T> de,
               const BatchOptions& options = {});

/// From linear light to CIELAB: XYZ = `to_xyz`·RGB, then CIELAB under `white`.
struct LinearToLab {
  Mat3 to_xyz{};  ///< from linear RGB to XYZ
  Xyz white;      ///< of the CIELAB
};
/// IEC 61966-2-1 primaries with their D65 white. For RGB in 0…1.
[[nodiscard]] LinearToLab srgb_to_lab();

/// CIELAB, interleaved, of interleaved linear RGB. Throws ArgumentError when the sizes differ or
/// are no multiple of 3.
template <class T>
void lab_from_linear(std::span<const T> rgb, const LinearToLab& conversion, std::span<T> lab,
                     std::size_t threads = 0);
/// The same for pixels of 16 bits, 65535 standing for 1.
void lab_from_linear(std::span<const std::uint16_t> rgb, const LinearToLab& conversion,
                     std::span<float> lab, std::size_t threads = 0);
/// CIELAB (D65), interleaved, of interleaved 8-bit sRGB; error at most 2e-4.
void lab_from_srgb8(std::span<const std::uint8_t> rgb, std::span<float> lab,
                    std::size_t threads = 0);

/// For each 8-bit sRGB pixel the nearest candidate (CIELAB, D65) and its ΔE00, without an image of
/// CIELAB in between; the same bits as `lab_from_srgb8` followed by `nearest_rows`.
void nearest_srgb8(std::span<const std::uint8_t> rgb, const LabRows<float>& candidates,
                   std::span<std::uint32_t> index, std::span<float> de,
                   const BatchOptions& options = {});

/// Tristimulus values, interleaved, of reflectances on the grid of `weights`, one spectrum after
/// the other. Throws ArgumentError when the sizes do not agree. Sums over wavelength run in the
/// same fixed order on every processor.
void xyz_rows(std::span<const double> reflectances, const Weights& weights, std::span<double> xyz,
              std::size_t threads = 0);

}  // namespace mamelon
