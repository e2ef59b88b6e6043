// ISO 28178 (CGATS.17) text: tables of keywords, a data format and data.

#include <algorithm>
#include <array>
#include <cstddef>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "mamelon/error.h"
#include "mamelon/files.h"
#include "mamelon/limits.h"

#include "base/numbers.h"
#include "io/measurements.h"
#include "io/row_reader.h"
#include "io/text_stream.h"

namespace mamelon {
namespace detail {
namespace {

struct Line {
  std::size_t number = 0;
  std::vector<std::string> words;
  std::vector<bool> quoted;
};

struct CgatsTable {
  std::size_t line = 0;
  StatedViewing viewing;
  std::optional<double> spectral_norm;
  std::optional<double> bands, first_nm, last_nm;  // of the spectra, as keywords state them
  std::string instrument;                          // of all rows that state none themselves
  std::map<std::string, std::string> keywords;     // all, by name
  std::vector<std::string> fields;
  std::size_t format_line = 0;
  std::size_t rows = 0;
};

// Words apart by blanks; a word in double quotes is one word, in which two quotes stand for one.
// `#` begins a comment.
Line split(std::string_view text, std::size_t number, const std::string& source) {
  Line line;
  line.number = number;
  std::size_t i = 0;
  while (i < text.size()) {
    const char c = text[i];
    if (c == ' ' || c == '\t' || c == '\r') {
      ++i;
    } else if (c == '#') {
      break;
    } else if (c == '"') {
      std::string word;
      for (;;) {
        const auto end = text.find('"', i + 1);
        if (end == std::string_view::npos) {
          throw DataError(source + ": line " + std::to_string(number) +
                          ": a quote is opened and never closed");
        }
        word += text.substr(i + 1, end - i - 1);
        i = end + 1;
        if (i == text.size() || text[i] != '"') break;
        word += '"';
      }
      line.words.push_back(std::move(word));
      line.quoted.push_back(true);
    } else {
      const auto end = std::min(text.find_first_of(" \t\r\"", i), text.size());
      line.words.emplace_back(text.substr(i, end - i));
      line.quoted.push_back(false);
      i = end;
    }
  }
  return line;
}

// Illuminant and observer as the keywords ILLUMINANT, OBSERVER and WEIGHTING_FUNCTION give them.
void take_condition(const std::string& keyword, const std::string& value, const std::string& where,
                    StatedViewing& viewing) {
  const std::string text = in_capitals(value);
  const auto comma = text.find(',');
  const bool weighting = keyword == "WEIGHTING_FUNCTION" && comma != std::string::npos;
  const std::string kind = weighting ? text.substr(0, comma) : keyword;
  std::string name = weighting ? text.substr(comma + 1) : text;
  name.erase(0, std::min(name.find_first_not_of(' '), name.size()));
  if (kind == "ILLUMINANT") {
    if (viewing.illuminant && *viewing.illuminant != name) {
      throw DataError(where + "the illuminants " + *viewing.illuminant + " and " + name +
                      " are both stated; give one table for each");
    }
    viewing.illuminant = name;
  } else if (kind == "OBSERVER") {
    const bool ten = name.starts_with("10");
    if (!ten && !name.starts_with('2')) {
      throw DataError(where + "expected an observer of 2 or 10 degrees, got \"" + value + "\"");
    }
    const Observer observer = ten ? Observer::deg10 : Observer::deg2;
    if (viewing.observer && *viewing.observer != observer) {
      throw DataError(where + "two observers are stated; give one table for each");
    }
    viewing.observer = observer;
  }
}

void take_spectral(const std::string& keyword, const std::string& value, const std::string& where,
                   CgatsTable& table) {
  if (keyword == "SPECTRAL_NORM") {
    table.spectral_norm = parse_number(value);
    if (!table.spectral_norm || *table.spectral_norm <= 0) {
      throw DataError(where +
                      "SPECTRAL_NORM is what a perfect diffuser reads, such as 1 or 100, not \"" +
                      value.substr(0, 40) + "\"");
    }
  }
  if (keyword == "SPECTRAL_BANDS") table.bands = parse_number(value);
  if (keyword == "SPECTRAL_START_NM") table.first_nm = parse_number(value);
  if (keyword == "SPECTRAL_END_NM") table.last_nm = parse_number(value);
}

// The grid that keywords state: a field's name has its wavelength as a whole number only.
std::optional<Grid> stated_grid(const CgatsTable& table) {
  if (!table.bands || !table.first_nm || !table.last_nm || *table.bands < 3 || *table.bands > 1e4 ||
      *table.last_nm <= *table.first_nm) {
    return {};
  }
  return Grid{*table.first_nm, (*table.last_nm - *table.first_nm) / (*table.bands - 1),
              static_cast<std::size_t>(*table.bands)};
}

// What is done with a table before its rows and with each of them, that of another width too where
// it is wanted.
struct CgatsSink {
  std::function<void(const CgatsTable& table)> begin;
  std::function<void(const Line& row)> row;
  bool any_width = false;
};

class CgatsParser {
 public:
  CgatsParser(ByteSource& source, CgatsSink sink)
      : lines_(source.stream(), source.name()), source_(source.name()), sink_(std::move(sink)) {}

  void run() {
    CgatsTable table;  // what an earlier table said holds for the next where it is silent
    std::size_t tables = 0;
    while (read_table(table)) {
      if (++tables == limits::tables) {
        throw DataError(source_ + ": has more than " + std::to_string(limits::tables - 1) +
                        " tables; cut it into parts");
      }
    }
    if (tables > 0) return;
    throw DataError(source_ +
                    (any_ ? ": has no BEGIN_DATA; an ISO 28178 file has a data format and data"
                          : ": is empty"));
  }

 private:
  [[nodiscard]] std::string where() const {
    return source_ + ": line " + std::to_string(line_.number) + ": ";
  }

  // The next line with a word on it; false at the end.
  bool next() {
    std::string text;
    while (lines_.next(text)) {
      line_ = split(text, lines_.number(), source_);
      if (line_.words.empty()) continue;
      any_ = true;
      return true;
    }
    return false;
  }

  [[nodiscard]] bool is(std::string_view keyword) const {
    return !line_.quoted[0] && line_.words[0] == keyword;
  }

  [[nodiscard]] std::size_t count() const {
    const auto value = line_.words.size() == 2 ? parse_number(line_.words[1]) : std::nullopt;
    if (!value || *value < 1 || *value > 1e7) {
      throw DataError(where() + line_.words[0] + " needs a count");
    }
    return static_cast<std::size_t>(*value);
  }

  // False where the file ends before another table's data: what stands there need not begin one.
  bool read_table(CgatsTable& table) {
    std::optional<std::size_t> fields;
    std::optional<std::size_t> sets;
    bool conditions = false;
    while (next()) {
      const std::string keyword = line_.quoted[0] ? std::string() : line_.words[0];
      if (keyword == "BEGIN_DATA_FORMAT") {
        read_format(table);
      } else if (keyword == "NUMBER_OF_FIELDS") {
        fields = count();
      } else if (keyword == "NUMBER_OF_SETS") {
        sets = count();
      } else if (keyword == "BEGIN_DATA") {
        if (table.fields.empty()) throw DataError(where() + "the data have no BEGIN_DATA_FORMAT");
        if (fields && *fields != table.fields.size()) {
          throw DataError(where() + "NUMBER_OF_FIELDS says " + std::to_string(*fields) +
                          ", the data format has " + std::to_string(table.fields.size()));
        }
        read_data(table);
        if (sets && *sets != table.rows) {
          throw DataError(where() + "NUMBER_OF_SETS says " + std::to_string(*sets) +
                          ", there are " + std::to_string(table.rows) +
                          ": the file is cut off or was edited");
        }
        return true;
      } else if (line_.words.size() >= 2) {
        take_spectral(keyword, line_.words[1], where(), table);
        table.keywords[keyword] = to_utf8(line_.words[1]);
        if (keyword == "INSTRUMENTATION") table.instrument = to_utf8(line_.words[1]);
        // A later table states its own conditions afresh.
        if ((keyword == "ILLUMINANT" || keyword == "OBSERVER" || keyword == "WEIGHTING_FUNCTION") &&
            !std::exchange(conditions, true)) {
          table.viewing = {};
        }
        take_condition(keyword, line_.words[1], where(), table.viewing);
      }
    }
    return false;
  }

  void read_format(CgatsTable& table) {
    table.fields.clear();
    table.format_line = line_.number;
    while (next()) {
      if (is("END_DATA_FORMAT")) return;
      table.fields.insert(table.fields.end(), line_.words.begin(), line_.words.end());
      if (table.fields.size() > limits::table_columns) {
        throw DataError(where() + "the data format has more than " +
                        std::to_string(limits::table_columns) + " fields");
      }
    }
    throw DataError(source_ + ": line " + std::to_string(table.format_line) +
                    ": BEGIN_DATA_FORMAT is never ended");
  }

  void read_data(CgatsTable& table) {
    const std::size_t begin = line_.number;
    table.rows = 0;
    sink_.begin(table);
    while (next()) {
      if (is("END_DATA")) return;
      if (!sink_.any_width && line_.words.size() != table.fields.size()) {
        throw DataError(where() + "has " + std::to_string(line_.words.size()) +
                        " values where the data format has " + std::to_string(table.fields.size()));
      }
      if (++table.rows > limits::table_rows) {
        throw DataError(where() + "more than " + std::to_string(limits::table_rows) +
                        " rows; cut the table into parts");
      }
      sink_.row(line_);
    }
    throw DataError(source_ + ": line " + std::to_string(begin) +
                    ": BEGIN_DATA is never ended: the file is cut off");
  }

  LineReader lines_;
  std::string source_;
  CgatsSink sink_;
  Line line_;
  bool any_ = false;
};

Columns columns_of_table(const CgatsTable& table, const std::string& source,
                         const TableOptions& options) {
  return columns_of(table.fields, source + ": line " + std::to_string(table.format_line),
                    {.resample_nm = options.resample_nm, .stated = stated_grid(table)},
                    options.columns);
}

// For each table whether its spectra are in percent. A norm and fields named SPECTRAL_PCT… state
// it; where nothing is stated, values above what a fraction can be decide.
std::vector<bool> tables_in_percent(ByteSource& source, const TableOptions& options) {
  std::vector<bool> percent;
  std::vector<std::size_t> bands;
  CgatsParser(source, {.begin =
                           [&](const CgatsTable& table) {
                             const Columns columns =
                                 columns_of_table(table, source.name(), options);
                             const bool open = !table.spectral_norm && !columns.percent;
                             bands = open ? columns.bands : std::vector<std::size_t>{};
                             percent.push_back(columns.percent);
                           },
                       .row =
                           [&](const Line& row) {
                             for (const std::size_t i : bands) {
                               const auto value = parse_number(row.words[i]);
                               if (value && *value > 2) percent.back() = true;
                             }
                           }})
      .run();
  return percent;
}

}  // namespace

Power parse_cgats_power(ByteSource& source, const TableOptions& options) {
  std::optional<Columns> columns;
  std::vector<std::string> fields;
  std::vector<double> values;
  const auto take = [&](const Line& row) {
    if (!values.empty()) throw DataError(source.name() + ": has several spectra; a light is one");
    for (const std::size_t i : columns->bands) {
      const auto value = parse_number(row.words[i]);
      if (!value || *value < 0) {
        throw DataError(source.name() + ": line " + std::to_string(row.number) + ", field " +
                        fields[i] + ": expected a power of 0 or more, got \"" +
                        row.words[i].substr(0, 40) + "\"");
      }
      values.push_back(*value);
    }
  };
  const auto begin = [&](const CgatsTable& table) {
    if (columns) throw DataError(source.name() + ": has several spectra; a light is one");
    columns = columns_of_table(table, source.name(), options);
    fields = table.fields;
    if (columns->has_curve()) return;
    throw DataError(source.name() +
                    ": has no spectrum; a light needs fields such as SPEC_380, SPEC_390");
  };
  CgatsParser(source, {.begin = begin, .row = take}).run();
  if (values.empty()) throw DataError(source.name() + ": has no spectrum");
  return power_of(columns->wavelengths_nm, std::move(values), options, source.name());
}

void each_cgats_text(ByteSource& source, const CgatsTextSink& sink) {
  CgatsParser(source, {.begin =
                           [&](const CgatsTable& table) {
                             sink.begin({.fields = table.fields,
                                         .line = table.format_line,
                                         .keywords = table.keywords,
                                         .spectral_norm = table.spectral_norm,
                                         .bands = stated_grid(table),
                                         .viewing = table.viewing});
                           },
                       .row = [&](const Line& row) { sink.row(row.number, row.words); },
                       .any_width = true})
      .run();
}

void each_cgats_row(ByteSource& source, const std::optional<Viewing>& given,
                    const TableOptions& options, const RowSink& sink) {
  const std::vector<bool> percent = tables_in_percent(source, options);
  std::size_t tables = 0;
  std::size_t rows = 0;
  std::optional<RowReader> reader;
  std::optional<Viewing> viewing;
  std::string instrument;
  const auto begin = [&](const CgatsTable& table) {
    if (reader) reader->check_units();
    instrument = table.instrument;
    Columns columns = columns_of_table(table, source.name(), options);
    if (percent[tables++]) columns.set_percent();
    if (table.spectral_norm) columns.full = *table.spectral_norm;
    viewing = settle_viewing(table.viewing, given, !columns.has_curve(), source.name());
    reader.emplace(std::move(columns), source.name(), *viewing, false);
  };
  const auto take = [&](const Line& row) {
    TableRow read = reader->read(row.words, row.number, ++rows);
    if (read.instrument.empty()) read.instrument = instrument;
    sink(std::move(read), *viewing);
  };
  CgatsParser(source, {.begin = begin, .row = take}).run();
  if (rows == 0) throw DataError(source.name() + ": has a data format and no row of values");
  reader->check_units();
}

}  // namespace detail

namespace {

using detail::OutRow;

// The columns of text that the readings fill.
struct TextColumn {
  const char* name;
  std::string (*of)(const OutRow& row);
};
constexpr std::array text_columns{
    TextColumn{"ZONE", [](const OutRow& row) { return row.reading->zone; }},
    TextColumn{"OPERATOR", [](const OutRow& row) { return row.operator_name; }},
    TextColumn{"DAY", [](const OutRow& row) { return row.day; }},
    TextColumn{"INSTRUMENT", [](const OutRow& row) { return row.instrument; }}};

std::string cgats_of(const std::vector<OutRow>& rows) {
  if (rows.empty()) throw ArgumentError("to_cgats: there is no reading to write");
  const Viewing& viewing = rows.front().reading->viewing;
  const auto& first = rows.front().reading->reflectance;
  for (const OutRow& row : rows) {
    const Reading& reading = *row.reading;
    check_same_viewing(viewing, reading.viewing, "to_cgats");
    if (reading.reflectance.has_value() != first.has_value() ||
        (first && reading.reflectance->grid() != first->grid())) {
      throw ArgumentError(
          "to_cgats: readings with and without curves, or on unlike grids, cannot "
          "stand in one table");
    }
  }
  const auto word = [](const std::string& text) {
    std::string out = "\"";
    for (const char c : text) {
      // A line ends a row, and other controls are no text.
      const bool control = static_cast<unsigned char>(c) < 0x20 || c == 0x7f;
      out += control ? ' ' : c;
      if (c == '"') out += '"';
    }
    return out + "\"";
  };
  std::string out = "ISO28178\nORIGINATOR \"mamelon " + std::string(library_version()) + "\"\n";
  out += "ILLUMINANT " + word(detail::exchanged_name(viewing.illuminant)) + "\nOBSERVER \"" +
         (viewing.observer == Observer::deg2 ? "2" : "10") + "\"\n";
  std::vector<std::string> fields = {"SAMPLE_ID", "SAMPLE_NAME", "LAB_L", "LAB_A", "LAB_B"};
  std::vector<TextColumn> texts;
  for (const TextColumn& column : text_columns) {
    if (std::all_of(rows.begin(), rows.end(),
                    [&](const OutRow& row) { return column.of(row).empty(); }))
      continue;
    texts.push_back(column);
    fields.emplace_back(column.name);
    // Fields beyond those of the standard are declared.
    out += "KEYWORD \"" + std::string(column.name) + "\"\n";
  }
  if (first) {
    out += "SPECTRAL_NORM 1\n";
    for (std::size_t i = 0; i < first->size(); ++i) {
      fields.push_back("SPECTRAL_NM" + detail::format_number(first->grid().wavelength_nm(i)));
    }
  }
  out += "NUMBER_OF_FIELDS " + std::to_string(fields.size()) + "\nBEGIN_DATA_FORMAT\n";
  for (std::size_t i = 0; i < fields.size(); ++i) out += (i == 0 ? "" : "\t") + fields[i];
  out += "\nEND_DATA_FORMAT\nNUMBER_OF_SETS " + std::to_string(rows.size()) + "\nBEGIN_DATA\n";
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const Reading& reading = *rows[i].reading;
    const Lab& lab = reading.lab.value;
    out += std::to_string(i + 1) + "\t" + word(reading.label);
    for (const double value : {lab.l, lab.a, lab.b}) out += "\t" + detail::format_number(value);
    for (const TextColumn& column : texts) out += "\t" + word(column.of(rows[i]));
    if (first) {
      for (const double value : reading.reflectance->values()) {
        out += "\t" + detail::format_number(value);
      }
    }
    out += '\n';
  }
  return out + "END_DATA\n";
}

}  // namespace

std::string to_cgats(std::span<const Reading> readings) {
  return cgats_of(detail::out_rows(readings));
}
std::string repeats_to_cgats(std::span<const RepeatReading> readings) {
  return cgats_of(detail::out_rows(readings));
}

}  // namespace mamelon
