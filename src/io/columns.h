#pragma once
// What the columns of a table of measurements mean, told from its header.

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "mamelon/spectrum.h"

#include "io/column_words.h"

namespace mamelon::detail {

// One column as it was understood, for `--explain`.
struct ColumnMeaning {
  std::string header;
  std::string meaning;
};

struct Columns {
  std::optional<std::size_t> label, zone;
  std::optional<std::size_t> l, a, b;
  std::optional<std::size_t> x, y, z;
  std::optional<std::size_t> operator_name, day, instrument;
  std::optional<std::size_t> backing, thickness_mm;
  std::optional<std::size_t> illuminant, observer, viewing;
  std::vector<std::size_t> bands;      // in order of rising wavelength
  std::vector<double> wavelengths_nm;  // of the bands
  Grid grid;                           // of the spectra: that of the bands, or the one asked for
  bool resampled = false;              // whether the one asked for
  bool percent = false;                // values of the bands are stated as percent
  double full = 1;                     // what the bands state for the perfect diffuser
  double full_xyz = 100;               // what Y is for it
  std::size_t count = 0;               // of all columns
  std::vector<ColumnMeaning> meanings;

  [[nodiscard]] bool has_lab() const { return l && a && b; }
  [[nodiscard]] bool has_xyz() const { return x && y && z; }
  [[nodiscard]] bool has_curve() const { return !bands.empty(); }
  [[nodiscard]] bool states_viewing() const { return viewing || illuminant || observer; }
  void set_percent() {
    percent = true;
    full = 100;
  }
};

// How the wavelengths of a header become a grid.
struct Bands {
  std::optional<double> resample_nm;  // step of the even grid that spectra are brought to
  std::optional<Grid> stated;         // exact grid, where the header has rounded wavelengths
};

// Throws DataError naming `where` (file and line) for a header without colour, with a meaning given
// twice, or with wavelengths that are not a rising or falling series, or not an even one where
// resampling is not asked for; ArgumentError for names that the header does not have or that mean
// nothing. Words are understood in English, German, French, Spanish, Italian, Portuguese and Dutch,
// with their accents or without.
Columns columns_of(const std::vector<std::string>& header, const std::string& where,
                   const Bands& bands = {}, const ColumnNames& names = {});

// The wavelength a header stands for: `400`, `400nm`, `R400`, `nm400`, `SPEC_400`, `400 nm [%]`.
std::optional<double> wavelength_of(std::string_view header);

// An even series of wavelengths as a grid. Throws DataError naming `where`.
Grid grid_of(const std::vector<double>& rising_nm, const std::string& where);

// The grid of a header's wavelengths, which are put right where a stated grid has them in full.
// Throws DataError naming `where`.
Grid grid_of_bands(std::vector<double>& rising_nm, const Bands& bands, const std::string& where);

// Throws DataError naming `where` where the wavelengths miss too much of the visible to tell a
// colour.
void check_visible(const Grid& grid, const std::string& where);

// The even grid of whole multiples of `step_nm` within a series of wavelengths. Throws DataError
// naming `where` for wavelengths too far apart to tell what is between them.
Grid grid_within(const std::vector<double>& rising_nm, double step_nm, const std::string& where);

}  // namespace mamelon::detail
