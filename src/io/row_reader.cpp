#include "io/row_reader.h"

#include <algorithm>
#include <utility>

#include "mamelon/error.h"

#include "base/numbers.h"
#include "io/text_stream.h"

namespace mamelon::detail {

Reflectance resampled_reflectance(const std::vector<double>& wavelengths_nm,
                                  const std::vector<double>& values, const Grid& grid) {
  const Reflectance smooth = resample_irregular<unit::Reflectance>(
      wavelengths_nm, values, grid, Interpolation::cubic, Extrapolation::error);
  // A spline may swing a little below zero beside a dark band, which no surface does.
  std::vector<double> possible = smooth.values();
  for (double& value : possible) value = std::max(value, 0.0);
  return Reflectance(grid, std::move(possible));
}

RowReader::RowReader(Columns columns, std::string source, const Viewing& viewing,
                     bool decimal_comma)
    : columns_(std::move(columns)),
      source_(std::move(source)),
      white_(white_point(viewing)),
      decimal_comma_(decimal_comma) {
  if (columns_.has_curve()) weights_ = weights(columns_.grid, viewing);
}

double RowReader::number(const Cells& row, std::size_t column, double least, double most) const {
  const std::string& cell = row.cells[column];
  std::string text = cell;
  if (decimal_comma_) std::replace(text.begin(), text.end(), ',', '.');
  const auto value = parse_number(text);
  const auto where = [&] {
    return source_ + ": line " + std::to_string(row.line) + ", column \"" +
           columns_.meanings[column].header + "\": ";
  };
  if (!value) {
    throw DataError(where() + "expected a finite number, got " +
                    (cell.empty() ? "an empty cell" : "\"" + cell.substr(0, 40) + "\""));
  }
  if (*value < least || *value > most) {
    const bool percent = least == 0 && most == 2 && *value <= 200;
    throw DataError(where() + "expected a value from " + format_short(least, 5) + " to " +
                    format_short(most, 5) + ", got " + format_short(*value, 6) +
                    (percent ? "; mark the columns with % for values in percent" : ""));
  }
  return *value;
}

std::string RowReader::text(const Cells& row, std::optional<std::size_t> column) {
  return column ? to_utf8(row.cells[*column]) : std::string();
}

void RowReader::read_colour(const Cells& cells, TableRow& row) const {
  if (columns_.has_curve()) {
    std::vector<double> values;
    values.reserve(columns_.bands.size());
    const double most = columns_.percent ? 200 : 2;
    const double unit = columns_.percent ? 100 : 1;
    for (const std::size_t i : columns_.bands) values.push_back(number(cells, i, 0, most) / unit);
    if (columns_.resampled) {
      row.curve = resampled_reflectance(columns_.wavelengths_nm, values, columns_.grid);
    } else {
      row.curve = Reflectance(columns_.grid, std::move(values));
    }
    row.lab = to_lab(to_xyz(*row.curve, *weights_), white_);
  } else if (columns_.has_lab()) {
    row.lab = {number(cells, *columns_.l, 0, 150), number(cells, *columns_.a, -200, 200),
               number(cells, *columns_.b, -200, 200)};
  } else {
    row.lab = to_lab(
        Xyz{number(cells, *columns_.x, 0, 200) / 100, number(cells, *columns_.y, 0, 200) / 100,
            number(cells, *columns_.z, 0, 300) / 100},
        white_);
  }
}

TableRow RowReader::read(const std::vector<std::string>& cells, std::size_t line,
                         std::size_t number_of_row) const {
  const Cells given{cells, line};
  const auto where = [&] { return source_ + ": line " + std::to_string(line) + ": "; };
  const auto columns_are = [&] {
    return "has " + std::to_string(cells.size()) + " cells where the header has " +
           std::to_string(columns_.count);
  };
  if (cells.size() < columns_.count) throw DataError(where() + columns_are());
  if (std::any_of(cells.begin() + static_cast<std::ptrdiff_t>(columns_.count), cells.end(),
                  [](const std::string& cell) { return !cell.empty(); })) {
    throw DataError(where() + columns_are() +
                    "; a decimal comma needs semicolons between the cells");
  }
  TableRow row;
  row.line = line;
  row.label =
      columns_.label ? text(given, columns_.label) : "reading " + std::to_string(number_of_row);
  if (row.label.empty()) throw DataError(where() + "the label is empty");
  row.zone = text(given, columns_.zone);
  row.operator_name = text(given, columns_.operator_name);
  row.day = text(given, columns_.day);
  row.instrument = text(given, columns_.instrument);
  row.backing = text(given, columns_.backing);
  if (columns_.thickness_mm) row.thickness_mm = number(given, *columns_.thickness_mm, 0.01, 50);
  read_colour(given, row);
  row.resampled = columns_.has_curve() && columns_.resampled;
  return row;
}

Reading reading_of(const TableRow& row, const Viewing& viewing, std::string_view step,
                   const std::string& file_digest) {
  Reading reading{
      .label = row.label,
      .zone = row.zone,
      .lab = {},
      .curve = row.curve,
      .viewing = viewing,
      .count = 1,
      .warnings = {},
      .provenance = make_provenance(step, to_string(viewing) + " line " + std::to_string(row.line),
                                    {file_digest})};
  if (row.resampled) {
    const std::string step_nm = format_short(row.curve->grid().step_nm, 5);
    reading.warnings.push_back("its spectrum was resampled to steps of " + step_nm + " nm");
    reading.provenance = make_provenance("resample", step_nm, {reading.provenance.digest});
  }
  reading.lab.value = row.lab;
  return reading;
}

}  // namespace mamelon::detail
