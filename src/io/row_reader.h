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
  bool named = true;  // false where `label` only counts the rows
  std::string zone;
  Lab lab;                                              // under the viewing of the reader
  std::optional<Reflectance> reflectance;               // where the row has a spectrum
  std::string operator_name, day, instrument, backing;  // empty where not noted
  std::optional<double> thickness_mm;
  bool resampled = false;               // whether `curve` is, because it was asked for
  std::optional<double> unused_lab_de;  // ΔE*ab of a Lab beside the spectrum that decided
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
                              std::size_t number);

  [[nodiscard]] const Columns& columns() const { return columns_; }
  void set_percent() { columns_.set_percent(); }
  // Throws DataError once all rows are read where their values contradict the stated unit: percent
  // of which none is above 1, tristimulus values of 0 to 100 of which no Y is above 1.
  void check_units() const;

 private:
  struct Cells {
    const std::vector<std::string>& cells;
    std::size_t line;
  };
  [[nodiscard]] double number(const Cells& row, std::size_t column, double least,
                              double most) const;
  [[nodiscard]] static std::string text(const Cells& row, std::optional<std::size_t> column);
  [[nodiscard]] Lab lab_of(const Cells& cells) const;
  void read_colour(const Cells& cells, TableRow& row);
  void check_viewing(const Cells& cells) const;

  Columns columns_;
  std::string source_;
  Viewing viewing_;
  Xyz white_;
  double most_ = 0;  // of the values whose unit is stated
  std::shared_ptr<const Weights> weights_;
  bool decimal_comma_;
};

// The viewing that the cells of a row state in columns of their own, as far as they do.
struct StatedViewing {
  std::optional<std::string> illuminant;
  std::optional<Observer> observer;
};
StatedViewing stated_viewing(const Columns& columns, const std::vector<std::string>& cells,
                             const std::string& where);

// The reading of a row of a file with the digest `file_digest`.
Reading reading_of(const TableRow& row, const Viewing& viewing, std::string_view step,
                   const std::string& file_digest);

}  // namespace mamelon::detail
