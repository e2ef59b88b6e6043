#pragma once
/// @file
/// What comes from other programs in bulk and what goes out for them to open.

#include <filesystem>
#include <iosfwd>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "mamelon/difference.h"
#include "mamelon/files.h"

namespace mamelon {

/// The colours of a file's rows and nothing else of them: a million rows take some 100 MB.
struct ColourTable {
  std::vector<std::string> labels;      ///< one a row
  std::vector<std::string> zones;       ///< one a row, or none at all
  std::vector<Lab> lab;                 ///< one a label, under `viewing`
  Viewing viewing;                      ///< of all colours
  std::vector<std::string> warnings{};  ///< of all rows together
};
/// As `read_measurements`, in columns. ArgumentError also where the rows have several viewings.
[[nodiscard]] ColourTable read_colours(const std::filesystem::path& file,
                                       const std::optional<Viewing>& viewing,
                                       const TableOptions& options = {});

/// The JSON document of `lab`, written row by row.
void write_json(std::ostream& out, const ColourTable& table);

/// The colour of one row of a table.
struct ColourRow {
  std::string label;  ///< of the row, or its number
  std::string zone;   ///< empty where none is noted
  Lab lab;            ///< under the viewing of the table
};
/// The rows of delimited text, one at a time and in the memory of one.
class ColourRows {
 public:
  /// Opens a file, or a pipe that another program writes, and reads the header; `viewing` and
  /// `options` as of `read_measurements`. Throws IoError, DataError naming file and line, and
  /// ArgumentError as that does.
  ColourRows(const std::string& file, const std::optional<Viewing>& viewing,
             const TableOptions& options = {});
  ~ColourRows();
  /// Moves.
  ColourRows(ColourRows&&) noexcept;
  /// Moves.
  ColourRows& operator=(ColourRows&&) noexcept;

  /// The next row; false at the end. Throws DataError for a bad row, naming line and column; the
  /// rows after it can still be read.
  bool next(ColourRow& row);
  /// Share of the file that is read, 0–1.
  [[nodiscard]] double share() const;
  /// How every column was understood, a line each.
  [[nodiscard]] std::string columns_in_words() const;

 private:
  struct Content;
  std::unique_ptr<Content> content_;
};

/// Two rows that belong together, and how the second differs from the first.
struct ColourPair {
  std::string first;               ///< label of the reference
  std::string second;              ///< label of the sample
  SignedDifference parts;          ///< CIEDE2000
  double de76 = 0;                 ///< ΔE*ab
  std::optional<Formula> formula;  ///< one more that was asked for
  double de = 0;                   ///< by that one
};
/// The pair as JSON on one line, as it stands in the document of `diff`.
[[nodiscard]] std::string to_json_line(const ColourPair& pair);

/// The crosswalk as `to_csv` writes it, for a spreadsheet: a name that it would run as a formula
/// (it starts with = + - @, a tab or a carriage return) has an apostrophe before it.
[[nodiscard]] std::string to_spreadsheet(const CrosswalkReport& report);

}  // namespace mamelon
