#pragma once
// A table of drawdowns as its file has it, be that CSV, ISO 28178 or CxF3: texts under headers.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "mamelon/spectrum.h"

#include "io/row_reader.h"

namespace mamelon::detail {

struct DrawdownRecord {
  std::string place;  // in the file, such as `line 5`
  std::string name;   // of the object, where the format gives every record one
  std::vector<std::string> cells;
  std::string problem;  // why the cells cannot be told apart; empty: they can
};

struct DrawdownRecords {
  std::string header_place;
  std::vector<std::string> header;
  std::vector<DrawdownRecord> records;
  std::string_view cell_is = "column";  // what the place of a cell is called
  bool strict = true;  // a header that is not known is a fault, not another's business
  bool decimal_comma = false;
  double full = 1;            // what a perfect diffuser reads, where no header says percent
  std::optional<Grid> bands;  // exact, where the headers have rounded wavelengths
  StatedViewing viewing;      // of colours
};

// Throws DataError naming `source` where the file as a whole is none of the formats.
DrawdownRecords drawdown_records(std::string_view bytes, const std::string& source);

}  // namespace mamelon::detail
