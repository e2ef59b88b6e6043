#pragma once
// A table of measurements, row by row.

#include <cstddef>
#include <istream>
#include <optional>
#include <string>
#include <vector>

#include "mamelon/reading.h"

#include "faces/columns.h"
#include "faces/csv.h"

namespace mamelon::detail {

// One row as it stands, before it becomes a reading.
struct TableRow {
  std::size_t line = 0;
  std::string label;
  std::string zone;
  Lab lab;                           // under the viewing of the reader
  std::optional<Reflectance> curve;  // where the row has a spectrum
};

class TableReader {
 public:
  // Reads the header. A spectrum decides over a Lab beside it, a Lab over tristimulus values.
  // Throws DataError naming file and line.
  TableReader(std::istream& in, std::string source, const Viewing& viewing);

  // The next row; false at the end. Throws DataError for a bad row, naming line and column; the
  // rows after it can still be read.
  bool next(TableRow& row);

  [[nodiscard]] const Columns& columns() const { return columns_; }
  [[nodiscard]] const CsvReader& csv() const { return csv_; }

 private:
  [[nodiscard]] double number(std::size_t column, double least, double most) const;
  void read_units_row();
  void read_colour(TableRow& row);

  CsvReader csv_;
  Viewing viewing_;
  Xyz white_;
  std::shared_ptr<const Weights> weights_;
  Columns columns_;
  CsvRow row_;
  bool pending_ = false;  // row_ holds a row that next() has not given yet
  std::size_t given_ = 0;
};

Reading reading_of(const TableRow& row, const Viewing& viewing, const std::string& file_digest);

}  // namespace mamelon::detail
