#pragma once
// Measurements of any format: what the file says of how they were made, and the readings.

#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "mamelon/files.h"

#include "io/byte_source.h"
#include "io/row_reader.h"

namespace mamelon::detail {

// What a light is called in files for others. A light of the user's own is named after its file,
// which may tell of a person or a place: of it only the digest goes out.
std::string exchanged_name(const Illuminant& illuminant);

// What is done with each row of a file, under the viewing of its colour. Nothing that it has been
// given counts where the reader throws afterwards.
using RowSink = std::function<void(TableRow&& row, const Viewing& viewing)>;

// The viewing of a file's colours: what the file states, else what the user gave. `needed` is true
// for colours without spectra, which cannot be turned to another viewing. Throws ArgumentError when
// both are given and differ, or, where needed, when neither is.
Viewing settle_viewing(const StatedViewing& stated, const std::optional<Viewing>& given,
                       bool needed, const std::string& source);

// One row of a file that goes out: a reading, and the circumstances where they are noted.
struct OutRow {
  const Reading* reading = nullptr;
  std::string operator_name{}, day{}, instrument{};
};
std::vector<OutRow> out_rows(std::span<const Reading> readings);
std::vector<OutRow> out_rows(std::span<const RepeatReading> readings);

// Whether the first bytes are those of ISO 28178 (CGATS.17) text.
bool is_cgats(std::string_view head);

// A light's power at rising wavelengths, on an even grid. Throws DataError naming `source`.
Power power_of(const std::vector<double>& wavelengths_nm, std::vector<double> values,
               const TableOptions& options, const std::string& source);
// The one spectrum of a table of a light's relative power.
Power parse_cgats_power(ByteSource& source, const TableOptions& options);

void each_csv_row(ByteSource& source, const std::optional<Viewing>& given,
                  const TableOptions& options, const RowSink& sink);
void each_cgats_row(ByteSource& source, const std::optional<Viewing>& given,
                    const TableOptions& options, const RowSink& sink);
void each_cxf_row(ByteSource& source, const std::optional<Viewing>& given, const RowSink& sink);

// The same of a file of whichever format; `step` names it for provenance.
void each_row(
    ByteSource& source, const std::optional<Viewing>& given, const TableOptions& options,
    const std::function<void(TableRow&& row, const Viewing& viewing, std::string_view step)>& sink);

// Readings as long as they fit into limits::memory_bytes.
class ReadingList {
 public:
  explicit ReadingList(const ByteSource& source);
  // Throws DataError where no more fit.
  void make_room(const TableRow& row);
  [[nodiscard]] std::size_t rows() const { return rows_; }

 private:
  std::string name_;
  std::size_t bytes_ = 0;
  std::size_t rows_ = 0;
};

}  // namespace mamelon::detail
