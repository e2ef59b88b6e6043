#pragma once
// Measurements of any format: what the file says of how they were made, and the readings.

#include <cstddef>
#include <functional>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
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

// Names of illuminants are written in either case.
std::string in_capitals(std::string text);

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

enum class Format { csv, cgats, cxf };
// Told from the first bytes of a file, not from its name.
Format format_of(std::string_view head);
// Files that are often given for a table: each is told what it is. Throws DataError.
void check_is_table(std::string_view head, const std::string& source);

// A light's power at rising wavelengths, on an even grid. Throws DataError naming `source`.
Power power_of(const std::vector<double>& wavelengths_nm, std::vector<double> values,
               const TableOptions& options, const std::string& source);
// The one spectrum of a table of a light's relative power.
Power parse_cgats_power(ByteSource& source, const TableOptions& options);

// A table of ISO 28178 text as it stands, for readers with fields of their own.
struct CgatsText {
  std::vector<std::string> fields;
  std::size_t line = 0;  // of the data format
  std::map<std::string, std::string> keywords;
  std::optional<double> spectral_norm;
  std::optional<Grid> bands;  // as keywords state them
  StatedViewing viewing;
};
// `row` is given rows of any number of words.
struct CgatsTextSink {
  std::function<void(const CgatsText& table)> begin;
  std::function<void(std::size_t line, const std::vector<std::string>& words)> row;
};
void each_cgats_text(ByteSource& source, const CgatsTextSink& sink);

// An object of a CxF3 file as it stands.
struct CxfText {
  std::string place;  // such as `object "disc 1"`
  std::string name;
  std::vector<std::pair<std::string, std::string>> tags;
  std::string geometry;          // of the measurement, empty where not stated
  StatedViewing viewing;         // of a Lab
  std::vector<std::string> lab;  // L, A, B, where there is no spectrum
  std::optional<double> start_nm, increment_nm;
  std::vector<std::string> spectrum;  // values
};
// Only objects with a colour or a spectrum.
void each_cxf_text(ByteSource& source, const std::function<void(const CxfText& object)>& sink);

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
