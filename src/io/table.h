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
  // Reads the header and, where there is one, the row of units under it. Throws DataError naming
  // file and line.
  TableReader(std::istream& in, std::string source, const Viewing& viewing,
              const TableOptions& options = {});

  // The next row; false at the end. Throws DataError for a bad row, naming line and column; the
  // rows after it can still be read.
  bool next(TableRow& row);

  [[nodiscard]] const Columns& columns() const { return reader_->columns(); }
  [[nodiscard]] const CsvReader& csv() const { return csv_; }

 private:
  void read_units_row();

  CsvReader csv_;
  std::optional<RowReader> reader_;
  CsvRow row_;
  bool pending_ = false;  // row_ holds a row that next() has not given yet
  std::size_t given_ = 0;
};

// How every column of a table was understood, a line each.
std::string explain(const TableReader& reader);

}  // namespace mamelon::detail
