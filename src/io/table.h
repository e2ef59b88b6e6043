#pragma once
// A delimited table of measurements, row by row.

#include <cstddef>
#include <istream>
#include <optional>
#include <string>

#include "mamelon/files.h"

#include "io/csv.h"
#include "io/row_reader.h"

namespace mamelon::detail {

class TableReader {
 public:
  // Reads the header and, where there is one, the row of units under it. Colours are under the
  // viewing that the table's own columns state; where they state none, under `given`, else D65/2.
  // Throws DataError naming file and line, ArgumentError where both are there and differ.
  TableReader(std::istream& in, std::string source, const std::optional<Viewing>& given,
              const TableOptions& options = {});

  // The next row; false at the end. Throws DataError for a bad row, naming line and column; the
  // rows after it can still be read. At the end throws DataError where the values contradict the
  // unit that they are stated in.
  bool next(TableRow& row);

  [[nodiscard]] const Columns& columns() const { return reader_->columns(); }
  [[nodiscard]] const CsvReader& csv() const { return csv_; }
  [[nodiscard]] const Viewing& viewing() const { return viewing_; }

 private:
  void read_units_row(Columns& columns);

  CsvReader csv_;
  Viewing viewing_;
  std::optional<RowReader> reader_;
  CsvRow row_;
  bool pending_ = false;  // row_ holds a row that next() has not given yet
  std::size_t given_ = 0;
  std::size_t good_ = 0;
};

// How every column of a table was understood, a line each.
std::string explain(const TableReader& reader);

}  // namespace mamelon::detail
