// ISO 28178 (CGATS.17) text: tables of keywords, a data format and data.

#include <algorithm>
#include <array>
#include <cstddef>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "mamelon/error.h"
#include "mamelon/files.h"

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
  std::vector<std::string> fields;
  std::size_t format_line = 0;
  std::vector<Line> rows;
};

std::string upper(std::string text) {
  for (char& c : text) {
    if (c >= 'a' && c <= 'z') c = static_cast<char>(c - 'a' + 'A');
  }
  return text;
}

// Words apart by blanks; a word in double quotes is one word. `#` begins a comment.
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
      const auto end = text.find('"', i + 1);
      if (end == std::string_view::npos) {
        throw DataError(source + ": line " + std::to_string(number) +
                        ": a quote is opened and never closed");
      }
      line.words.emplace_back(text.substr(i + 1, end - i - 1));
      line.quoted.push_back(true);
      i = end + 1;
    } else {
      const auto end = std::min(text.find_first_of(" \t\r\"", i), text.size());
      line.words.emplace_back(text.substr(i, end - i));
      line.quoted.push_back(false);
      i = end;
    }
  }
  return line;
}

std::vector<Line> lines_of(std::string_view bytes, const std::string& source) {
  const std::string text = decode_text(bytes, source);
  std::vector<Line> lines;
  std::size_t begin = 0;
  std::size_t number = 0;
  while (begin < text.size()) {
    const std::size_t end = std::min(text.find_first_of("\r\n", begin), text.size());
    ++number;
    Line line = split(std::string_view(text).substr(begin, end - begin), number, source);
    if (!line.words.empty()) lines.push_back(std::move(line));
    begin = end + 1;
    if (begin < text.size() && text[end] == '\r' && text[begin] == '\n') ++begin;
  }
  return lines;
}

// Illuminant and observer as the keywords ILLUMINANT, OBSERVER and WEIGHTING_FUNCTION give them.
void take_condition(const std::string& keyword, const std::string& value, const std::string& where,
                    StatedViewing& viewing) {
  const std::string text = upper(value);
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

void take_spectral(const std::string& keyword, const std::string& value, CgatsTable& table) {
  if (keyword == "SPECTRAL_NORM") table.spectral_norm = parse_number(value);
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

class CgatsParser {
 public:
  CgatsParser(std::string_view bytes, std::string source)
      : source_(std::move(source)), lines_(lines_of(bytes, source_)) {}

  std::vector<CgatsTable> tables() {
    if (lines_.empty()) throw DataError(source_ + ": is empty");
    std::vector<CgatsTable> tables;
    CgatsTable carried;  // what an earlier table said holds for the next where it is silent
    while (at_ < lines_.size()) {
      CgatsTable table = carried;
      table.rows.clear();
      table.line = lines_[at_].number;
      read_table(table);
      carried = table;
      tables.push_back(std::move(table));
      // What stands between a table and the end of the file need not begin another.
      const bool more = std::any_of(
          lines_.begin() + static_cast<std::ptrdiff_t>(at_), lines_.end(),
          [](const Line& line) { return !line.quoted[0] && line.words[0] == "BEGIN_DATA"; });
      if (!more) break;
    }
    return tables;
  }

 private:
  [[nodiscard]] std::string where(const Line& line) const {
    return source_ + ": line " + std::to_string(line.number) + ": ";
  }

  [[nodiscard]] std::size_t count(const Line& line) const {
    const auto value = line.words.size() == 2 ? parse_number(line.words[1]) : std::nullopt;
    if (!value || *value < 1 || *value > 1e7) {
      throw DataError(where(line) + line.words[0] + " needs a count");
    }
    return static_cast<std::size_t>(*value);
  }

  void read_table(CgatsTable& table) {
    std::optional<std::size_t> fields;
    std::optional<std::size_t> sets;
    std::set<std::string> given;
    for (; at_ < lines_.size(); ++at_) {
      const Line& line = lines_[at_];
      const std::string keyword = line.quoted[0] ? std::string() : line.words[0];
      if (keyword == "BEGIN_DATA_FORMAT") {
        read_format(table);
      } else if (keyword == "NUMBER_OF_FIELDS") {
        fields = count(line);
      } else if (keyword == "NUMBER_OF_SETS") {
        sets = count(line);
      } else if (keyword == "BEGIN_DATA") {
        if (table.fields.empty())
          throw DataError(where(line) + "the data have no BEGIN_DATA_FORMAT");
        if (fields && *fields != table.fields.size()) {
          throw DataError(where(line) + "NUMBER_OF_FIELDS says " + std::to_string(*fields) +
                          ", the data format has " + std::to_string(table.fields.size()));
        }
        read_data(table);
        if (sets && *sets != table.rows.size()) {
          throw DataError(where(line) + "NUMBER_OF_SETS says " + std::to_string(*sets) +
                          ", there are " + std::to_string(table.rows.size()) +
                          ": the file is cut off or was edited");
        }
        return;
      } else if (line.words.size() >= 2) {
        take_spectral(keyword, line.words[1], table);
        // A later table states its own conditions afresh.
        if ((keyword == "ILLUMINANT" || keyword == "OBSERVER" || keyword == "WEIGHTING_FUNCTION") &&
            given.insert("conditions").second) {
          table.viewing = {};
        }
        take_condition(keyword, line.words[1], where(line), table.viewing);
      }
    }
    throw DataError(source_ + ": has no BEGIN_DATA; an ISO 28178 file has a data format and data");
  }

  void read_format(CgatsTable& table) {
    table.fields.clear();
    table.format_line = lines_[at_].number;
    for (++at_; at_ < lines_.size(); ++at_) {
      const Line& line = lines_[at_];
      if (!line.quoted[0] && line.words[0] == "END_DATA_FORMAT") return;
      table.fields.insert(table.fields.end(), line.words.begin(), line.words.end());
    }
    throw DataError(source_ + ": line " + std::to_string(table.format_line) +
                    ": BEGIN_DATA_FORMAT is never ended");
  }

  void read_data(CgatsTable& table) {
    const std::size_t begin = lines_[at_].number;
    for (++at_; at_ < lines_.size(); ++at_) {
      const Line& line = lines_[at_];
      if (!line.quoted[0] && line.words[0] == "END_DATA") {
        ++at_;
        return;
      }
      if (line.words.size() != table.fields.size()) {
        throw DataError(where(line) + "has " + std::to_string(line.words.size()) +
                        " values where the data format has " + std::to_string(table.fields.size()));
      }
      table.rows.push_back(line);
    }
    throw DataError(source_ + ": line " + std::to_string(begin) +
                    ": BEGIN_DATA is never ended: the file is cut off");
  }

  std::string source_;
  std::vector<Line> lines_;
  std::size_t at_ = 0;
};

// Fields named SPECTRAL_PCT… and a norm of 100 state percent; where nothing is stated, values above
// what a fraction can be decide.
bool is_percent(const CgatsTable& table, const Columns& columns) {
  if (table.spectral_norm) return *table.spectral_norm > 2;
  if (columns.percent || !columns.has_curve()) return columns.percent;
  for (const Line& row : table.rows) {
    for (const std::size_t i : columns.bands) {
      const auto value = parse_number(row.words[i]);
      if (value && *value > 2) return true;
    }
  }
  return false;
}

Columns columns_of_table(const CgatsTable& table, const std::string& source,
                         const TableOptions& options) {
  return columns_of(table.fields, source + ": line " + std::to_string(table.format_line),
                    {.resample_nm = options.resample_nm, .stated = stated_grid(table)});
}

}  // namespace

Power parse_cgats_power(std::string_view bytes, const std::string& source,
                        const TableOptions& options) {
  const std::vector<CgatsTable> tables = CgatsParser(bytes, source).tables();
  const CgatsTable& table = tables.front();
  const Columns columns = columns_of_table(table, source, options);
  if (!columns.has_curve()) {
    throw DataError(source + ": has no spectrum; a light needs fields such as SPEC_380, SPEC_390");
  }
  if (tables.size() > 1 || table.rows.size() != 1) {
    throw DataError(source + ": has several spectra; a light is one");
  }
  const Line& row = table.rows.front();
  std::vector<double> values;
  for (const std::size_t i : columns.bands) {
    const auto value = parse_number(row.words[i]);
    if (!value || *value < 0) {
      throw DataError(source + ": line " + std::to_string(row.number) + ", field " +
                      table.fields[i] + ": expected a power of 0 or more, got \"" +
                      row.words[i].substr(0, 40) + "\"");
    }
    values.push_back(*value);
  }
  return power_of(columns.wavelengths_nm, std::move(values), options, source);
}

std::vector<Reading> parse_cgats(std::string_view bytes, const std::string& source,
                                 const std::optional<Viewing>& given, const TableOptions& options) {
  const std::string digest = sha256_hex(bytes);
  std::vector<Reading> readings;
  for (const CgatsTable& table : CgatsParser(bytes, source).tables()) {
    Columns columns = columns_of_table(table, source, options);
    columns.percent = is_percent(table, columns);
    const Viewing viewing = settle_viewing(table.viewing, given, !columns.has_curve(), source);
    const RowReader reader(std::move(columns), source, viewing, false);
    for (const Line& row : table.rows) {
      readings.push_back(reading_of(reader.read(row.words, row.number, readings.size() + 1),
                                    viewing, "read_cgats", digest));
    }
  }
  return readings;
}

}  // namespace detail

std::string to_cgats(std::span<const Reading> readings) {
  if (readings.empty()) throw ArgumentError("to_cgats: there is no reading to write");
  const Viewing& viewing = readings.front().viewing;
  const auto& first = readings.front().curve;
  for (const Reading& reading : readings) {
    check_same_viewing(viewing, reading.viewing, "to_cgats");
    if (reading.curve.has_value() != first.has_value() ||
        (first && reading.curve->grid() != first->grid())) {
      throw ArgumentError(
          "to_cgats: readings with and without curves, or on unlike grids, cannot "
          "stand in one table");
    }
  }
  const auto word = [](std::string text) {
    std::replace(text.begin(), text.end(), '"', '\'');
    std::replace(text.begin(), text.end(), '\n', ' ');
    return "\"" + text + "\"";
  };
  std::string out = "ISO28178\nORIGINATOR \"mamelon " + std::string(library_version()) + "\"\n";
  out += "ILLUMINANT \"" + viewing.illuminant.name() + "\"\nOBSERVER \"" +
         (viewing.observer == Observer::deg2 ? "2" : "10") + "\"\n";
  std::vector<std::string> fields = {"SAMPLE_ID", "SAMPLE_NAME", "LAB_L", "LAB_A", "LAB_B"};
  if (first) {
    out += "SPECTRAL_NORM 1\n";
    for (std::size_t i = 0; i < first->size(); ++i) {
      fields.push_back("SPECTRAL_NM" + detail::format_number(first->grid().wavelength_nm(i)));
    }
  }
  out += "NUMBER_OF_FIELDS " + std::to_string(fields.size()) + "\nBEGIN_DATA_FORMAT\n";
  for (std::size_t i = 0; i < fields.size(); ++i) out += (i == 0 ? "" : "\t") + fields[i];
  out += "\nEND_DATA_FORMAT\nNUMBER_OF_SETS " + std::to_string(readings.size()) + "\nBEGIN_DATA\n";
  for (std::size_t i = 0; i < readings.size(); ++i) {
    const Lab& lab = readings[i].lab.value;
    out += std::to_string(i + 1) + "\t" + word(readings[i].label);
    for (const double value : {lab.l, lab.a, lab.b}) out += "\t" + detail::format_number(value);
    if (first) {
      for (const double value : readings[i].curve->values()) {
        out += "\t" + detail::format_number(value);
      }
    }
    out += '\n';
  }
  return out + "END_DATA\n";
}

}  // namespace mamelon
