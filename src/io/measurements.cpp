#include "io/measurements.h"

#include <algorithm>
#include <utility>

#include "mamelon/error.h"
#include "mamelon/exchange.h"
#include "mamelon/limits.h"

#include "base/numbers.h"

namespace mamelon {
namespace detail {
std::string in_capitals(std::string text) {
  for (char& c : text) {
    if (c >= 'a' && c <= 'z') c = static_cast<char>(c - 'a' + 'A');
  }
  return text;
}

Format format_of(std::string_view bytes) {
  const auto first = bytes.find_first_not_of("\xEF\xBB\xBF \t\r\n");
  const std::string_view head = bytes.substr(std::min(first, bytes.size()), 64);
  if (head.starts_with("<")) return Format::cxf;
  for (const std::string_view word :
       {"ISO28178", "CGATS", "CTI3", "SPECT", "CTI1", "CTI2", "CAL", "IT8."}) {
    if (head.starts_with(word)) return Format::cgats;
  }
  return bytes.find("BEGIN_DATA_FORMAT") != std::string_view::npos ? Format::cgats : Format::csv;
}

void check_is_table(std::string_view bytes, const std::string& source) {
  const auto first = bytes.find_first_not_of("\xEF\xBB\xBF \t\r\n");
  const std::string_view head = bytes.substr(std::min(first, bytes.size()), 8);
  std::string_view is;
  if (head.starts_with("{") || head.starts_with("[")) is = "a JSON document";
  if (head.starts_with("PK")) is = "a workbook, a saved case or another archive";
  if (head.starts_with("%PDF")) is = "a printed document (PDF)";
  if (head.starts_with("\xFF\xD8") || head.starts_with("\x89PNG")) is = "a picture";
  if (is.empty()) return;
  throw DataError(source + ": is " + std::string(is) +
                  ", not a table of readings; save the readings as CSV, ISO 28178 text or CxF3");
}

std::vector<OutRow> out_rows(std::span<const Reading> readings) {
  std::vector<OutRow> rows;
  for (const Reading& reading : readings) rows.push_back({.reading = &reading});
  return rows;
}
std::vector<OutRow> out_rows(std::span<const RepeatReading> readings) {
  std::vector<OutRow> rows;
  for (const RepeatReading& one : readings)
    rows.push_back({&one.reading, one.operator_name, one.day, one.instrument});
  return rows;
}

std::string exchanged_name(const Illuminant& illuminant) {
  try {
    if (viewing_from_string(illuminant.name() + "/2").illuminant == illuminant) {
      return illuminant.name();
    }
  } catch (const ArgumentError&) {
    // Not one of the standard.
  }
  const std::size_t at = illuminant.name().rfind('@');
  return "custom" + (at == std::string::npos ? std::string() : illuminant.name().substr(at));
}

Viewing settle_viewing(const StatedViewing& stated, const std::optional<Viewing>& given,
                       bool needed, const std::string& source) {
  if (!stated.illuminant || !stated.observer) {
    if (given) return *given;
    if (!needed) return {standard_illuminant("D65"), Observer::deg2};
    throw ArgumentError(source +
                        ": does not say under which illuminant and observer its colours hold; "
                        "give the viewing");
  }
  const std::string name = *stated.illuminant + (*stated.observer == Observer::deg2 ? "/2" : "/10");
  if (given && !needed) return *given;
  if (given && *stated.observer == given->observer &&
      in_capitals(*stated.illuminant) == in_capitals(exchanged_name(given->illuminant))) {
    return *given;
  }
  Viewing viewing = given ? *given : viewing_from_string("D65/2");
  try {
    viewing = viewing_from_string(name);
  } catch (const ArgumentError& error) {
    throw DataError(source + ": " + error.what());
  }
  if (given && *given != viewing) {
    throw ArgumentError(source + ": its colours are stated under " + name + ", not under " +
                        to_string(*given) + "; give that viewing, or spectra");
  }
  return viewing;
}

void each_row(ByteSource& source, const std::optional<Viewing>& given, const TableOptions& options,
              const std::function<void(TableRow&& row, const Viewing& viewing,
                                       std::string_view step)>& sink) {
  const auto named = [&sink](std::string_view step) {
    return [&sink, step](TableRow&& row, const Viewing& viewing) {
      sink(std::move(row), viewing, step);
    };
  };
  check_is_table(source.head(), source.name());
  switch (format_of(source.head())) {
    case Format::cgats:
      return each_cgats_row(source, given, options, named("read_cgats"));
    case Format::cxf:
      return each_cxf_row(source, given, named("read_cxf"));
    case Format::csv:
      break;
  }
  each_csv_row(source, given, options, named("read_table"));
}

ReadingList::ReadingList(const ByteSource& source) : name_(source.name()) {}

void ReadingList::make_room(const TableRow& row) {
  // A reading with its texts and digests; a list that grows is for a moment there twice.
  constexpr std::size_t texts = 300;
  bytes_ += 2 * sizeof(Reading) + texts + row.label.size();
  if (row.reflectance) bytes_ += row.reflectance->size() * sizeof(double);
  if (bytes_ > limits::memory_bytes) {
    throw DataError(name_ + ": line " + std::to_string(row.line) + ": the " +
                    std::to_string(rows_) + " readings before take all of the " +
                    std::to_string(limits::memory_bytes >> 20U) +
                    " MiB that one file's may; cut the table into parts, or read its colours "
                    "alone");
  }
  ++rows_;
}

namespace {

std::vector<Reading> readings_of(ByteSource source, const std::optional<Viewing>& given,
                                 const TableOptions& options) {
  ReadingList list(source);
  std::vector<Reading> readings;
  each_row(source, given, options,
           [&](const TableRow& row, const Viewing& viewing, std::string_view step) {
             list.make_room(row);
             readings.push_back(reading_of(row, viewing, step, source.digest()));
           });
  return readings;
}

}  // namespace
}  // namespace detail

std::vector<Reading> parse_measurements(std::string_view bytes, const std::string& source,
                                        const std::optional<Viewing>& viewing,
                                        const TableOptions& options) {
  return detail::readings_of(detail::ByteSource::of_bytes(bytes, source), viewing, options);
}

std::vector<Reading> read_measurements(const std::filesystem::path& file,
                                       const std::optional<Viewing>& viewing,
                                       const TableOptions& options) {
  return detail::readings_of(detail::ByteSource::of_file(file, limits::table_bytes), viewing,
                             options);
}

namespace {

std::vector<RepeatReading> repeats_of(detail::ByteSource source,
                                      const std::optional<Viewing>& viewing,
                                      const TableOptions& options, bool named) {
  detail::ReadingList list(source);
  std::vector<RepeatReading> repeats;
  detail::each_row(
      source, viewing, options,
      [&](const detail::TableRow& row, const Viewing& under, std::string_view step) {
        if (named && !row.named) {
          throw DataError(source.name() +
                          ": no column names the tab that was read; call it label or tab, or say "
                          "which column it is");
        }
        list.make_room(row);
        repeats.push_back({.reading = detail::reading_of(row, under, step, source.digest()),
                           .operator_name = row.operator_name,
                           .day = row.day,
                           .instrument = row.instrument,
                           .row = row.line});
      });
  return repeats;
}

}  // namespace

std::vector<RepeatReading> read_repeats(const std::filesystem::path& file,
                                        const std::optional<Viewing>& viewing,
                                        const TableOptions& options, bool named) {
  return repeats_of(detail::ByteSource::of_file(file, limits::table_bytes), viewing, options,
                    named);
}

std::vector<RepeatReading> parse_repeats(std::string_view text, const std::string& source,
                                         const std::optional<Viewing>& viewing,
                                         const TableOptions& options) {
  return repeats_of(detail::ByteSource::of_bytes(text, source), viewing, options, true);
}

ColourTable read_colours(const std::filesystem::path& file, const std::optional<Viewing>& viewing,
                         const TableOptions& options) {
  detail::ByteSource source = detail::ByteSource::of_file(file, limits::table_bytes);
  std::optional<ColourTable> table;
  std::size_t bytes = 0;
  double unused_lab_de = 0;
  detail::each_row(source, viewing, options,
                   [&](detail::TableRow&& row, const Viewing& under, std::string_view) {
                     if (!table)
                       table = ColourTable{.labels = {}, .zones = {}, .lab = {}, .viewing = under};
                     check_same_viewing(table->viewing, under, source.name());
                     // Lists that grow are for a moment there one and a half times.
                     bytes += 3 * (sizeof(std::string) + sizeof(Lab)) / 2 + row.label.size();
                     if (bytes > limits::memory_bytes) {
                       throw DataError(source.name() + ": line " + std::to_string(row.line) +
                                       ": its colours take more than " +
                                       std::to_string(limits::memory_bytes >> 20U) +
                                       " MiB; cut the table into parts");
                     }
                     table->lab.push_back(row.lab);
                     unused_lab_de = std::max(unused_lab_de, row.unused_lab_de.value_or(0));
                     if (!row.zone.empty() || !table->zones.empty()) {
                       table->zones.resize(table->labels.size());
                       table->zones.push_back(std::move(row.zone));
                     }
                     table->labels.push_back(std::move(row.label));
                   });
  if (unused_lab_de > 0) {
    table->warnings.push_back(
        "colours are computed from the spectra; the L*, a*, b* beside them, up to ΔE*ab " +
        detail::format_fixed(unused_lab_de, 1) + " away, were not used");
  }
  return *std::move(table);
}

}  // namespace mamelon
