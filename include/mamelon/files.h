#pragma once
/// @file
/// Documents and tables in and out. Readers are strict: unknown keys, wrong units, NaN and values
/// out of range are errors that name the file and the line or JSON path.

#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "mamelon/audit.h"
#include "mamelon/calibrate.h"
#include "mamelon/card.h"
#include "mamelon/kept_fit.h"
#include "mamelon/match.h"
#include "mamelon/paste.h"
#include "mamelon/reading.h"
#include "mamelon/report.h"
#include "mamelon/tabs.h"
#include "mamelon/zones.h"

namespace mamelon {

/// The whole file as bytes. Throws IoError naming the file, also above `max_bytes`.
[[nodiscard]] std::string read_file(const std::filesystem::path& file,
                                    std::size_t max_bytes = std::size_t{1} << 30);
/// Whether a file is one to read as a photo and not as a table: by its name's ending where that
/// tells, else by its first bytes. Throws IoError naming the file.
[[nodiscard]] bool is_photo_file(const std::filesystem::path& file);
/// Replaces `file` by `content`: written beside it, synced, renamed. The old file stays whole on
/// any failure. Throws IoError.
void write_file_atomically(const std::filesystem::path& file, std::string_view content);

/// Documents of this library, read strictly. Throws IoError, or DataError with file and JSON path.
[[nodiscard]] Card read_card(const std::filesystem::path& file);
[[nodiscard]] KeptFit read_kept_fit(const std::filesystem::path& file);
[[nodiscard]] TabSet read_tab_set(const std::filesystem::path& file);
[[nodiscard]] PasteSet read_paste_set(const std::filesystem::path& file);
[[nodiscard]] Card parse_card(std::string_view json, const std::string& source);
[[nodiscard]] KeptFit parse_kept_fit(std::string_view json, const std::string& source);
[[nodiscard]] TabSet parse_tab_set(std::string_view json, const std::string& source);
[[nodiscard]] PasteSet parse_paste_set(std::string_view json, const std::string& source);
/// The document of a value, as `parse_card` and its like read it.
[[nodiscard]] std::string to_json(const Card& card);
[[nodiscard]] std::string to_json(const KeptFit& kept);
[[nodiscard]] std::string to_json(const TabSet& tabs);
[[nodiscard]] std::string to_json(const PasteSet& pastes);

/// JSON Schema (draft 2020-12) of a document that is read: `card`, `case`, `kept-fit`, `paste-set`,
/// `tab-set`. It is
/// made from the description of the value. Throws ArgumentError naming the known ones.
[[nodiscard]] std::string json_schema(std::string_view name);
[[nodiscard]] std::vector<std::string> json_schema_names();

/// How tables of measurements are read beyond what they say themselves.
struct TableOptions {
  /// Step in nm, above 0 and at most 20, of an even grid that spectra are brought to by a natural
  /// cubic spline; none: spectra at uneven wavelengths are refused.
  std::optional<double> resample_nm;
  /// Which column means what, beside what headers say of themselves: a meaning (`tab` or `label`,
  /// `zone`, `L`, `a`, `b`, `X`, `Y`, `Z`, `operator`, `day`, `instrument`, `illuminant`,
  /// `observer`, `viewing`, `backing`, `thickness_mm`) and the header that stands for it.
  std::vector<std::pair<std::string, std::string>> columns{};
};

/// CSV with a header row: `label,L,a,b` or `label,380,390,…`. One reading a row.
[[nodiscard]] std::vector<Reading> read_table(const std::filesystem::path& file,
                                              const Viewing& viewing,
                                              const TableOptions& options = {});
[[nodiscard]] std::vector<Reading> parse_table(std::string_view csv, const std::string& source,
                                               const Viewing& viewing,
                                               const TableOptions& options = {});
/// Measurements of any format that is read, told from the content: CSV as above, ISO 28178
/// (CGATS.17) text, or CxF3 core (ISO 17972-1). `viewing` none: what the file states; a CSV or a
/// spectrum without a statement is taken under D65/2. Throws DataError for a malformed file and
/// ArgumentError where a Lab's viewing is neither stated nor given, or stated otherwise than given.
[[nodiscard]] std::vector<Reading> read_measurements(const std::filesystem::path& file,
                                                     const std::optional<Viewing>& viewing,
                                                     const TableOptions& options = {});
[[nodiscard]] std::vector<Reading> parse_measurements(std::string_view bytes,
                                                      const std::string& source,
                                                      const std::optional<Viewing>& viewing,
                                                      const TableOptions& options = {});
/// Readings as ISO 28178 text and as CxF3 core; numbers in the shortest text that reads back the
/// same. Both throw ArgumentError for no reading, mixed viewings or curves on unlike grids.
[[nodiscard]] std::string to_cgats(std::span<const Reading> readings);
[[nodiscard]] std::string to_cxf(std::span<const Reading> readings);
/// The same with operator, day and instrument.
[[nodiscard]] std::string repeats_to_cgats(std::span<const RepeatReading> readings);
[[nodiscard]] std::string repeats_to_cxf(std::span<const RepeatReading> readings);
/// As `read_measurements`, with the zone, operator, day and instrument of each row where they are
/// noted: in columns of those names, in CxF3 as tags of the object; there the day is also taken
/// from its CreationDate and the instrument from the Device of its MeasurementSpec, in ISO 28178
/// from INSTRUMENTATION. `row` is the line of the file, in CxF3 the object's place. DataError also
/// where nothing (a column `label` or `tab`) names the tab, unless `named` is false: rows without a
/// name are then numbered.
[[nodiscard]] std::vector<RepeatReading> read_repeats(const std::filesystem::path& file,
                                                      const std::optional<Viewing>& viewing,
                                                      const TableOptions& options = {},
                                                      bool named = true);
[[nodiscard]] std::vector<RepeatReading> parse_repeats(std::string_view text,
                                                       const std::string& source,
                                                       const std::optional<Viewing>& viewing,
                                                       const TableOptions& options = {});
/// The one curve of a two-column CSV `wavelength_nm,reflectance`.
[[nodiscard]] Reflectance read_reflectance(const std::filesystem::path& file,
                                           const TableOptions& options = {});
[[nodiscard]] Reflectance parse_reflectance(std::string_view csv, const std::string& source,
                                            const TableOptions& options = {});
/// A light's relative spectral power: a two-column CSV `wavelength_nm,power`, or ISO 28178 text
/// with one spectrum. Throws DataError for a malformed table, a negative value or no power at all.
[[nodiscard]] Power parse_power(std::string_view text, const std::string& source,
                                const TableOptions& options = {});

/// Cautions that stand on every report of a plan or a shade.
[[nodiscard]] const std::vector<std::string>& cautions();

/// A case as one file: a zip of `case.json` and the photos as they were given, under names that say
/// nothing of them. The same case gives the same bytes. `read_case` throws IoError, or DataError
/// naming the file and the part of it.
[[nodiscard]] std::string to_zip(const Case& given);
[[nodiscard]] Case parse_case(std::string_view zip, const std::string& source);
[[nodiscard]] Case read_case(const std::filesystem::path& file);
void write_case(const std::filesystem::path& file, const Case& given);
/// How many outcomes a practice keeps in a case's file beside the case; none where no practice
/// keeps it. Throws DataError as `parse_case`, and for a record that cannot be read.
[[nodiscard]] std::optional<std::size_t> outcomes_kept(std::string_view zip,
                                                       const std::string& source);

/// The JSON document of `shade` and `plan`.
[[nodiscard]] std::string to_json(const Report& report);

/// The JSON document of `tabs crosswalk`.
[[nodiscard]] std::string to_json(const CrosswalkReport& report);
/// The same as a table: one row a recipe, pastes from the floor outward.
[[nodiscard]] std::string to_csv(const CrosswalkReport& report);

/// Everything an audit of a tab set found.
struct AuditReport {
  std::string label;                       ///< of the sheet
  const TabSet* tabs = nullptr;            ///< what was audited
  const Population* population = nullptr;  ///< the teeth it was held against
  const Audit* audit = nullptr;            ///< what was found
  const Drift* drift = nullptr;            ///< where an earlier set was given
  const TabChoice* choice = nullptr;       ///< where a smaller set was asked for
};
/// The JSON document of `tabs audit`.
[[nodiscard]] std::string to_json(const AuditReport& report);

/// Everything a match, a calibration or an audit says, as one JSON document.
[[nodiscard]] std::string to_json(const Match& match);
[[nodiscard]] std::string to_json(const Calibration& calibration);
[[nodiscard]] std::string to_json(const Audit& audit);

}  // namespace mamelon
