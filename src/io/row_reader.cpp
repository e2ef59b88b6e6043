#include "io/row_reader.h"

#include <algorithm>
#include <utility>

#include "mamelon/difference.h"
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

StatedViewing stated_viewing(const Columns& columns, const std::vector<std::string>& cells,
                             const std::string& where) {
  const auto cell = [&](const std::optional<std::size_t>& column) {
    return column && *column < cells.size() ? cells[*column] : std::string();
  };
  StatedViewing stated;
  std::string observer = cell(columns.observer);
  if (const std::string text = cell(columns.viewing); !text.empty()) {
    const std::size_t slash = text.find('/');
    stated.illuminant = text.substr(0, slash);
    if (slash != std::string::npos) observer = text.substr(slash + 1);
  }
  if (const std::string text = cell(columns.illuminant); !text.empty()) stated.illuminant = text;
  if (observer.empty()) return stated;
  const bool ten = observer.starts_with("10");
  if (!ten && (!observer.starts_with('2') || observer.starts_with("20"))) {
    throw DataError(where + ": expected an observer of 2 or 10 degrees, got \"" +
                    observer.substr(0, 40) + "\"");
  }
  stated.observer = ten ? Observer::deg10 : Observer::deg2;
  return stated;
}

RowReader::RowReader(Columns columns, std::string source, const Viewing& viewing,
                     bool decimal_comma)
    : columns_(std::move(columns)),
      source_(std::move(source)),
      viewing_(viewing),
      white_(white_point(viewing)),
      decimal_comma_(decimal_comma) {
  if (columns_.has_curve()) weights_ = weights(columns_.grid, viewing);
}

double RowReader::number(const Cells& row, std::size_t column, double least, double most) const {
  const std::string& cell = row.cells[column];
  std::string text = cell;
  // In a file of decimal commas a point parts thousands, and 1.234 is not what it seems.
  const bool mixed = decimal_comma_ && text.find('.') != std::string::npos;
  if (decimal_comma_) std::replace(text.begin(), text.end(), ',', '.');
  const auto value = mixed ? std::nullopt : parse_number(text);
  const auto where = [&] {
    return source_ + ": line " + std::to_string(row.line) + ", column \"" +
           columns_.meanings[column].header + "\": ";
  };
  if (!value) {
    throw DataError(where() + "expected a finite number, got " +
                    (cell.empty() ? "an empty cell" : "\"" + cell.substr(0, 40) + "\"") +
                    (mixed ? " among numbers with a decimal comma" : ""));
  }
  if (*value < least || *value > most) {
    const bool percent = least == 0 && most == 2 && *value <= 200 && columns_.has_curve();
    throw DataError(where() + "expected a value from " + format_short(least, 5) + " to " +
                    format_short(most, 5) + ", got " + format_short(*value, 6) +
                    (percent ? "; mark the columns with % for values in percent" : ""));
  }
  return *value;
}

std::string RowReader::text(const Cells& row, std::optional<std::size_t> column) {
  return column ? to_utf8(row.cells[*column]) : std::string();
}

Lab RowReader::lab_of(const Cells& cells) const {
  return {number(cells, *columns_.l, 0, 150), number(cells, *columns_.a, -200, 200),
          number(cells, *columns_.b, -200, 200)};
}

void RowReader::read_colour(const Cells& cells, TableRow& row) {
  if (columns_.has_curve()) {
    std::vector<double> values;
    values.reserve(columns_.bands.size());
    for (const std::size_t i : columns_.bands) {
      const double value = number(cells, i, 0, 2 * columns_.full);
      most_ = std::max(most_, value);
      values.push_back(value / columns_.full);
    }
    if (columns_.resampled) {
      row.reflectance = resampled_reflectance(columns_.wavelengths_nm, values, columns_.grid);
    } else {
      row.reflectance = Reflectance(columns_.grid, std::move(values));
    }
    row.lab = to_lab(to_xyz(*row.reflectance, *weights_), white_);
    if (columns_.has_lab() && !cells.cells[*columns_.l].empty()) {
      row.unused_lab_de = de76(lab_of(cells), row.lab);
    }
  } else if (columns_.has_lab()) {
    row.lab = lab_of(cells);
  } else {
    const double full = columns_.full_xyz;
    const double y = number(cells, *columns_.y, 0, 2 * full);
    most_ = std::max(most_, y);
    row.lab = to_lab(Xyz{number(cells, *columns_.x, 0, 2 * full) / full, y / full,
                         number(cells, *columns_.z, 0, 3 * full) / full},
                     white_);
  }
}

void RowReader::check_units() const {
  if (columns_.has_curve()) {
    if (columns_.full != 1 && most_ <= columns_.full / 100) {
      throw DataError(source_ + ": its reflectance is stated on a scale to " +
                      format_short(columns_.full, 6) + " and no value is above " +
                      format_short(columns_.full / 100, 6) +
                      ": these look like fractions; state the scale that the values are on");
    }
  } else if (!columns_.has_lab() && columns_.full_xyz != 1 && most_ <= 1) {
    throw DataError(source_ +
                    ": no tristimulus value Y is above 1: these look like values of 0 to 1; give "
                    "them on the scale of 0 to 100, or a row of units under the header with 1");
  }
}

void RowReader::check_viewing(const Cells& cells) const {
  if (!columns_.states_viewing() || columns_.has_curve()) return;
  const std::string where = source_ + ": line " + std::to_string(cells.line);
  const StatedViewing stated = stated_viewing(columns_, cells.cells, where);
  const bool same_light = !stated.illuminant || *stated.illuminant == viewing_.illuminant.name();
  const bool same_observer = !stated.observer || *stated.observer == viewing_.observer;
  if (same_light && same_observer) return;
  throw DataError(where + ": its colour is stated under " +
                  stated.illuminant.value_or(viewing_.illuminant.name()) + "/" +
                  (stated.observer.value_or(viewing_.observer) == Observer::deg2 ? "2" : "10") +
                  " and read under " + to_string(viewing_) +
                  "; a colour without its spectrum cannot be turned to another viewing");
}

TableRow RowReader::read(const std::vector<std::string>& cells, std::size_t line,
                         std::size_t number_of_row) {
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
  row.named = columns_.label.has_value();
  row.zone = text(given, columns_.zone);
  row.operator_name = text(given, columns_.operator_name);
  row.day = text(given, columns_.day);
  row.instrument = text(given, columns_.instrument);
  row.backing = text(given, columns_.backing);
  if (columns_.thickness_mm) row.thickness_mm = number(given, *columns_.thickness_mm, 0.01, 50);
  check_viewing(given);
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
      .reflectance = row.reflectance,
      .viewing = viewing,
      .count = 1,
      .warnings = {},
      .provenance = make_provenance(step, to_string(viewing) + " line " + std::to_string(row.line),
                                    {file_digest})};
  if (row.resampled) {
    const std::string step_nm = format_short(row.reflectance->grid().step_nm, 5);
    reading.warnings.push_back("its spectrum was resampled to steps of " + step_nm + " nm");
    reading.provenance = make_provenance("resample", step_nm, {reading.provenance.digest});
  }
  constexpr double matters_from = 0.1;
  if (row.unused_lab_de && *row.unused_lab_de > matters_from) {
    reading.warnings.push_back(
        "its colour is computed from its spectrum; the L*, a*, b* beside it, ΔE*ab " +
        format_fixed(*row.unused_lab_de, 1) + " away, were not used");
  }
  reading.lab.value = row.lab;
  return reading;
}

}  // namespace mamelon::detail
