#pragma once
// From the cells of one row of measurements to a colour.

#include <cstddef>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "mamelon/reading.h"

#include "io/columns.h"

namespace mamelon::detail {

// One row as it stands, before it becomes a reading.
struct TableRow {
  std::size_t line = 0;
  std::string label;
  std::string zone;
  Lab lab;                                              // under the viewing of the reader
  std::optional<Reflectance> curve;                     // where the row has a spectrum
  std::string operator_name, day, instrument, backing;  // empty where not noted
  std::optional<double> thickness_mm;
  bool resampled = false;  // whether `curve` is, because it was asked for
};

// Values at any rising wavelengths on an even grid within them.
Reflectance resampled_reflectance(const std::vector<double>& wavelengths_nm,
                                  const std::vector<double>& values, const Grid& grid);

class RowReader {
 public:
  // A spectrum decides over a Lab beside it, a Lab over tristimulus values (0–100).
  RowReader(Columns columns, std::string source, const Viewing& viewing, bool decimal_comma);

  // Throws DataError for a bad row, naming line and column. `number` counts the rows and stands in
  // for a missing label.
  [[nodiscard]] TableRow read(const std::vector<std::string>& cells, std::size_t line,
                              std::size_t number) const;

  [[nodiscard]] const Columns& columns() const { return columns_; }
  void set_percent() { columns_.percent = true; }

 private:
  struct Cells {
    const std::vector<std::string>& cells;
    std::size_t line;
  };
  [[nodiscard]] double number(const Cells& row, std::size_t column, double least,
                              double most) const;
  [[nodiscard]] static std::string text(const Cells& row, std::optional<std::size_t> column);
  void read_colour(const Cells& cells, TableRow& row) const;

  Columns columns_;
  std::string source_;
  Xyz white_;
  std::shared_ptr<const Weights> weights_;
  bool decimal_comma_;
};

// The reading of a row of a file with the digest `file_digest`.
Reading reading_of(const TableRow& row, const Viewing& viewing, std::string_view step,
                   const std::string& file_digest);

}  // namespace mamelon::detail
