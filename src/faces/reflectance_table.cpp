// One curve as a table of two columns.

#include <algorithm>
#include <sstream>
#include <utility>

#include "mamelon/error.h"
#include "mamelon/files.h"

#include "base/numbers.h"
#include "faces/columns.h"
#include "faces/csv.h"

namespace mamelon {
namespace {

bool names_percent(const std::string& header) {
  return header.find('%') != std::string::npos || header.find("percent") != std::string::npos;
}

}  // namespace

Reflectance parse_reflectance(std::string_view csv, const std::string& source) {
  std::istringstream in{std::string(csv)};
  detail::CsvReader reader(in, source);
  detail::CsvRow row;
  const auto where = [&] { return source + ": line " + std::to_string(row.line); };
  if (!reader.next(row)) {
    throw DataError(source + ": is empty; give a header row wavelength_nm,reflectance");
  }
  if (row.cells.size() != 2 || detail::parse_number(row.cells[0])) {
    throw DataError(where() + ": expected the header row wavelength_nm,reflectance");
  }
  const double unit = names_percent(row.cells[1]) ? 100 : 1;
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
    if (*value < 0 || *value / unit > 1) {
      throw DataError(where() + ": expected a reflectance from 0 to " +
                      detail::format_short(unit, 4) + ", got " + detail::format_short(*value, 6) +
                      (*value > 1 && unit == 1
                           ? "; name the column reflectance_percent for values in percent"
                           : ""));
    }
    nm.push_back(*wavelength);
    values.push_back(*value / unit);
  }
  return Reflectance(detail::grid_of(nm, source), std::move(values));
}

Reflectance read_reflectance(const std::filesystem::path& file) {
  return parse_reflectance(read_file(file), file.string());
}

}  // namespace mamelon
