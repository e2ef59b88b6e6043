#include "faces/table.h"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <memory>
#include <sstream>
#include <utility>

#include "mamelon/error.h"
#include "mamelon/files.h"

#include "base/numbers.h"

namespace mamelon {
namespace detail {
namespace {

bool is_units_word(const std::string& cell) {
  return cell.empty() || cell == "%" || cell == "nm" || cell == "1" || cell == "-" ||
         cell == "[%]" || cell == "(%)" || cell == "mm" || cell == "[-]" || cell == "fraction" ||
         cell == "percent";
}

}  // namespace

TableReader::TableReader(std::istream& in, std::string source, const Viewing& viewing)
    : csv_(in, std::move(source)), viewing_(viewing), white_(white_point(viewing)) {
  if (!csv_.next(row_)) {
    throw DataError(csv_.source() + ": is empty; give a header row label,L,a,b or label,380,390,…");
  }
  columns_ = columns_of(row_.cells, csv_.source() + ": line " + std::to_string(row_.line));
  if (columns_.has_curve()) weights_ = weights(columns_.grid, viewing_);
  read_units_row();
}

void TableReader::read_units_row() {
  pending_ = csv_.next(row_);
  if (!pending_) return;
  const bool units = std::all_of(row_.cells.begin(), row_.cells.end(), is_units_word) &&
                     row_.cells.size() == columns_.count;
  if (!units) return;
  columns_.percent =
      columns_.percent ||
      std::any_of(columns_.bands.begin(), columns_.bands.end(), [&](std::size_t i) {
        return row_.cells[i].find('%') != std::string::npos || row_.cells[i] == "percent";
      });
  pending_ = false;
}

double TableReader::number(std::size_t column, double least, double most) const {
  const std::string& cell = row_.cells[column];
  std::string text = cell;
  if (csv_.decimal_comma()) std::replace(text.begin(), text.end(), ',', '.');
  const auto value = parse_number(text);
  const auto where = [&] {
    const auto& name = columns_.meanings[column].header;
    return csv_.source() + ": line " + std::to_string(row_.line) + ", column \"" + name + "\": ";
  };
  if (!value) {
    throw DataError(where() + "expected a finite number, got " +
                    (cell.empty() ? "an empty cell" : "\"" + cell.substr(0, 40) + "\""));
  }
  if (*value < least || *value > most) {
    throw DataError(where() + "expected a value from " + format_short(least, 5) + " to " +
                    format_short(most, 5) + ", got " + format_short(*value, 6));
  }
  return *value;
}

void TableReader::read_colour(TableRow& row) {
  row.curve.reset();
  if (columns_.has_curve()) {
    std::vector<double> values;
    values.reserve(columns_.bands.size());
    const double most = columns_.percent ? 200 : 2;
    const double unit = columns_.percent ? 100 : 1;
    for (const std::size_t i : columns_.bands) values.push_back(number(i, 0, most) / unit);
    row.curve = Reflectance(columns_.grid, std::move(values));
    row.lab = to_lab(to_xyz(*row.curve, *weights_), white_);
  } else if (columns_.has_lab()) {
    row.lab = {number(*columns_.l, 0, 150), number(*columns_.a, -200, 200),
               number(*columns_.b, -200, 200)};
  } else {
    row.lab = to_lab(Xyz{number(*columns_.x, 0, 200) / 100, number(*columns_.y, 0, 200) / 100,
                         number(*columns_.z, 0, 300) / 100},
                     white_);
  }
}

bool TableReader::next(TableRow& row) {
  if (!pending_ && !csv_.next(row_)) return false;
  pending_ = false;
  ++given_;
  if (row_.cells.size() < columns_.count) {
    throw DataError(csv_.source() + ": line " + std::to_string(row_.line) + ": has " +
                    std::to_string(row_.cells.size()) + " cells where the header has " +
                    std::to_string(columns_.count));
  }
  const bool surplus =
      std::any_of(row_.cells.begin() + static_cast<std::ptrdiff_t>(columns_.count),
                  row_.cells.end(), [](const std::string& cell) { return !cell.empty(); });
  if (surplus) {
    throw DataError(csv_.source() + ": line " + std::to_string(row_.line) + ": has " +
                    std::to_string(row_.cells.size()) + " cells where the header has " +
                    std::to_string(columns_.count) +
                    "; a decimal comma needs semicolons between the cells");
  }
  row.line = row_.line;
  row.label =
      columns_.label ? to_utf8(row_.cells[*columns_.label]) : "reading " + std::to_string(given_);
  if (row.label.empty()) {
    throw DataError(csv_.source() + ": line " + std::to_string(row_.line) + ": the label is empty");
  }
  row.zone = columns_.zone ? to_utf8(row_.cells[*columns_.zone]) : std::string();
  read_colour(row);
  return true;
}

Reading reading_of(const TableRow& row, const Viewing& viewing, const std::string& file_digest) {
  Reading reading{
      .label = row.label,
      .zone = row.zone,
      .lab = {},
      .curve = row.curve,
      .viewing = viewing,
      .count = 1,
      .warnings = {},
      .provenance = make_provenance(
          "read_table", to_string(viewing) + " line " + std::to_string(row.line), {file_digest})};
  reading.lab.value = row.lab;
  return reading;
}

}  // namespace detail

std::vector<Reading> parse_table(std::string_view csv, const std::string& source,
                                 const Viewing& viewing) {
  std::istringstream in{std::string(csv)};
  detail::TableReader reader(in, source, viewing);
  const std::string digest = sha256_hex(csv);
  std::vector<Reading> readings;
  detail::TableRow row;
  while (reader.next(row)) readings.push_back(detail::reading_of(row, viewing, digest));
  if (readings.empty()) throw DataError(source + ": has a header and no row of values");
  return readings;
}

std::vector<Reading> read_table(const std::filesystem::path& file, const Viewing& viewing) {
  return parse_table(read_file(file), file.string(), viewing);
}

}  // namespace mamelon
