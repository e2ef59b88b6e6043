// One curve as a table of two columns.

#include <algorithm>
#include <utility>

#include "mamelon/error.h"
#include "mamelon/files.h"
#include "mamelon/limits.h"

#include "base/numbers.h"
#include "io/columns.h"
#include "io/csv.h"
#include "io/data_error.h"
#include "io/measurements.h"
#include "io/row_reader.h"

namespace mamelon {
namespace {

// What the second column holds.
struct Quantity {
  std::string name;
  double most;       // of a value
  bool has_percent;  // may be stated in percent
};

struct CurveColumns {
  std::vector<double> wavelengths_nm;
  std::vector<double> values;
};

bool names_percent(const std::string& header) {
  return header.find('%') != std::string::npos || header.find("percent") != std::string::npos;
}

CurveColumns parse_curve(std::string_view csv, const std::string& source,
                         const Quantity& quantity) {
  detail::ByteSource bytes = detail::ByteSource::of_bytes(csv, source);
  detail::CsvReader reader(bytes.stream(), source);
  detail::CsvRow row;
  const auto where = [&] { return source + ": line " + std::to_string(row.line); };
  const std::string header = "header row wavelength_nm," + quantity.name;
  if (!reader.next(row)) throw DataError(source + ": is empty; give a " + header);
  if (row.cells.size() != 2 || detail::parse_number(row.cells[0])) {
    throw DataError(where() + ": expected the " + header);
  }
  const double unit = quantity.has_percent && names_percent(row.cells[1]) ? 100 : 1;
  std::vector<double> nm;
  std::vector<double> values;
  while (reader.next(row)) {
    if (row.cells.size() != 2) {
      throw DataError(where() + ": expected 2 cells, got " + std::to_string(row.cells.size()));
    }
    if (reader.decimal_comma()) {
      for (std::string& cell : row.cells) std::replace(cell.begin(), cell.end(), ',', '.');
    }
    const auto wavelength = detail::parse_number(row.cells[0]);
    const auto value = detail::parse_number(row.cells[1]);
    if (!wavelength || !value) {
      throw DataError(where() + ": expected two finite numbers, got \"" +
                      row.cells[0].substr(0, 40) + "\" and \"" + row.cells[1].substr(0, 40) + "\"");
    }
    if (!nm.empty() && *wavelength <= nm.back()) {
      throw DataError(where() + ": the wavelengths must rise from row to row");
    }
    if (*value < 0 || *value / unit > quantity.most) {
      throw DataError(where() + ": expected a " + quantity.name + " from 0 to " +
                      detail::format_short(quantity.most * unit, 4) + ", got " +
                      detail::format_short(*value, 6) +
                      (quantity.has_percent && *value > 1 && unit == 1
                           ? "; name the column " + quantity.name + "_percent for values in percent"
                           : ""));
    }
    if (nm.size() == limits::spectrum_bands) {
      throw DataError(where() + ": a curve has at most " + std::to_string(limits::spectrum_bands) +
                      " wavelengths");
    }
    nm.push_back(*wavelength);
    values.push_back(*value / unit);
  }
  if (unit != 1 && std::all_of(values.begin(), values.end(),
                               [unit](double value) { return value <= 1 / unit; })) {
    throw DataError(source +
                    ": is stated in percent and no value is above 1: these look like fractions; "
                    "name the column " +
                    quantity.name);
  }
  return {std::move(nm), std::move(values)};
}

}  // namespace

namespace detail {

Power power_of(const std::vector<double>& wavelengths_nm, std::vector<double> values,
               const TableOptions& options, const std::string& source) {
  if (std::all_of(values.begin(), values.end(), [](double v) { return v == 0; })) {
    throw DataError(source + ": the light has no power at any wavelength");
  }
  const Grid grid = options.resample_nm ? grid_within(wavelengths_nm, *options.resample_nm, source)
                                        : grid_of(wavelengths_nm, source);
  check_visible(grid, source);
  as_data_error(source + ": ", [&] { check_grid(grid); });
  if (!options.resample_nm) return Power(grid, std::move(values));
  // A lamp's lines are too narrow for a spline, which would swing below zero beside them.
  return resample_irregular<unit::Power>(wavelengths_nm, values, grid, Interpolation::linear,
                                         Extrapolation::error);
}

}  // namespace detail

Reflectance parse_reflectance(std::string_view csv, const std::string& source,
                              const TableOptions& options) {
  CurveColumns curve =
      parse_curve(csv, source, {.name = "reflectance", .most = 1, .has_percent = true});
  const Grid grid = options.resample_nm
                        ? detail::grid_within(curve.wavelengths_nm, *options.resample_nm, source)
                        : detail::grid_of(curve.wavelengths_nm, source);
  detail::check_visible(grid, source);
  detail::as_data_error(source + ": ", [&] { check_grid(grid); });
  if (!options.resample_nm) return Reflectance(grid, std::move(curve.values));
  return detail::resampled_reflectance(curve.wavelengths_nm, curve.values, grid);
}

Reflectance read_reflectance(const std::filesystem::path& file, const TableOptions& options) {
  return parse_reflectance(read_file(file, limits::document_bytes), file.string(), options);
}

Power parse_power(std::string_view text, const std::string& source, const TableOptions& options) {
  if (detail::format_of(text) == detail::Format::cgats) {
    detail::ByteSource bytes = detail::ByteSource::of_bytes(text, source);
    return detail::parse_cgats_power(bytes, options);
  }
  CurveColumns curve =
      parse_curve(text, source, {.name = "power", .most = 1e12, .has_percent = false});
  return detail::power_of(curve.wavelengths_nm, std::move(curve.values), options, source);
}

}  // namespace mamelon
