// Drawdowns as a table.

#include <algorithm>
#include <array>
#include <map>
#include <optional>
#include <sstream>
#include <utility>

#include "mamelon/error.h"
#include "mamelon/files.h"
#include "mamelon/paste_report.h"

#include "base/numbers.h"
#include "io/columns.h"
#include "io/csv.h"
#include "io/data_error.h"
#include "io/measurements.h"

namespace mamelon {
namespace {

// Lower case, with all that separates words left out.
std::string plain(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (c >= 'A' && c <= 'Z') {
      out += static_cast<char>(c - 'A' + 'a');
    } else if (c != ' ' && c != '_' && c != '-' && c != '*') {
      out += c;
    }
  }
  return out;
}

struct Column {
  std::string_view word;   // as `plain` has it
  std::string_view name;   // as it is written
  std::string_view holds;  // what a cell of it looks like
};
constexpr std::array columns = {
    Column{"specimen", "specimen", "the specimen's name, empty for a bare backing"},
    Column{"thicknessmm", "thickness_mm", "a number of mm, for instance 1.02"},
    Column{"thicknesssdmm", "thickness_sd_mm", "a number of mm, for instance 0.02"},
    Column{"backing", "backing", "the backing's name, for instance black"},
    Column{"geometry", "geometry", "45/0, d:8 excluded or d:8 included"},
    Column{"contact", "contact", "contact (optical, through a liquid) or air gap"},
    Column{
        "value", "value",
        "external (as an instrument reads it in air) or internal (as seen from inside the paste)"},
    Column{"lowerface", "lower_face", "smooth or rough"},
    Column{"litmm", "lit_mm", "the diameter lit in mm, for instance 8, or endless"},
    Column{"seenmm", "seen_mm", "the diameter seen in mm, for instance 4, or endless"},
    Column{"l", "L", "a number"},
    Column{"a", "a", "a number"},
    Column{"b", "b", "a number"},
};
// What other files call them.
constexpr std::array<std::pair<std::string_view, std::string_view>, 7> other_names = {{
    {"samplename", "specimen"},
    {"sampleid", "specimen"},
    {"thickness", "thicknessmm"},
    {"labl", "l"},
    {"laba", "a"},
    {"labb", "b"},
    {"samplebacking", "backing"},
}};

const Column* column_of(std::string_view word) {
  const auto* const other = std::find_if(other_names.begin(), other_names.end(),
                                         [&](const auto& known) { return known.first == word; });
  if (other != other_names.end()) word = other->second;
  const auto* const found = std::find_if(columns.begin(), columns.end(),
                                         [&](const Column& one) { return one.word == word; });
  return found == columns.end() ? nullptr : found;
}

// All that is wrong with a table, told at once.
class Faults {
 public:
  void add(std::string text) {
    if (all_.size() < most) all_.push_back(std::move(text));
    ++count_;
  }
  void raise() const {
    if (all_.empty()) return;
    // Every one begins "FILE: line N": the file is named once.
    const std::size_t place = all_.front().find(": line ") + 2;
    std::string text = all_.front();
    for (std::size_t i = 1; i < all_.size(); ++i) text += "; " + all_[i].substr(place);
    if (count_ > all_.size()) text += "; and " + std::to_string(count_ - all_.size()) + " more";
    throw DataError(text);
  }

 private:
  static constexpr std::size_t most = 40;
  std::vector<std::string> all_;
  std::size_t count_ = 0;
};

struct Header {
  std::map<std::string, std::size_t, std::less<>> words;
  std::vector<std::string> cells;
  std::vector<std::size_t> bands;  // in order of rising wavelength
  Grid grid;
  double unit = 1;
  std::size_t count = 0;
  [[nodiscard]] bool has_lab() const { return words.count("l") != 0; }
};

std::string known_columns() {
  std::string out;
  for (const Column& one : columns) out += (out.empty() ? "" : ", ") + std::string(one.name);
  return out;
}

Header header_of(const std::vector<std::string>& cells, const DrawdownWords& renamed,
                 const std::string& where) {
  Header header;
  header.count = cells.size();
  header.cells = cells;
  Faults faults;
  std::vector<std::pair<double, std::size_t>> bands;
  for (std::size_t i = 0; i < cells.size(); ++i) {
    std::string word = plain(cells[i]);
    for (const auto& [ours, theirs] : renamed) {
      if (plain(theirs) == word) word = plain(ours);
    }
    if (const Column* column = column_of(word)) {
      if (!header.words.emplace(column->word, i).second) {
        faults.add(where + ": the column " + std::string(column->name) + " stands twice");
      }
    } else if (const auto nm = detail::wavelength_of(cells[i])) {
      bands.emplace_back(*nm, i);
      if (cells[i].find('%') != std::string::npos) header.unit = 100;
    } else {
      faults.add(where + ": the column \"" + cells[i].substr(0, 40) +
                 "\" is not known; there are " + known_columns() + ", and wavelengths in nm");
    }
  }
  for (const std::string_view needed :
       {"specimen", "thicknessmm", "backing", "geometry", "contact", "value"}) {
    if (header.words.count(needed) == 0) {
      const Column& column = *column_of(needed);
      faults.add(
          where + ": the column " + std::string(column.name) +
          " is missing; how a drawdown was read must be stated: " + std::string(column.holds));
    }
  }
  const bool whole_lab =
      header.words.count("l") + header.words.count("a") + header.words.count("b") == 3;
  if (bands.empty() != whole_lab || (bands.empty() && !whole_lab)) {
    faults.add(where + ": give either wavelengths in nm or the columns L, a, b");
  }
  faults.raise();
  if (!bands.empty()) {
    std::sort(bands.begin(), bands.end());
    std::vector<double> nm;
    for (const auto& [wavelength, column] : bands) {
      nm.push_back(wavelength);
      header.bands.push_back(column);
    }
    header.grid = detail::grid_of(nm, where);
  }
  return header;
}

struct Bare {
  Reflectance reflectance;
  Geometry geometry = Geometry::unstated;
  bool internal = false;
  std::size_t readings = 0;
};

class Reader {
 public:
  Reader(std::string_view csv, const std::string& source, const Viewing& viewing,
         const DrawdownWords& renamed)
      : in_(std::string(csv)),
        reader_(in_, source),
        source_(source),
        viewing_(viewing),
        renamed_(renamed) {}

  std::vector<Drawdown> drawdowns() {
    detail::CsvRow row;
    if (!reader_.next(row)) {
      throw DataError(source_ + ": is empty; give a header row specimen,thickness_mm,backing,…");
    }
    header_ = header_of(row.cells, renamed_, at(row));
    std::vector<detail::CsvRow> specimens;
    while (reader_.next(row)) {
      if (row.cells.size() != header_.count) {
        faults_.add(at(row) + ": expected " + std::to_string(header_.count) + " cells, got " +
                    std::to_string(row.cells.size()));
      } else if (cell(row, "specimen").empty()) {
        add_backing(row);
      } else {
        specimens.push_back(row);
      }
    }
    std::vector<Drawdown> all;
    all.reserve(specimens.size());
    for (const detail::CsvRow& specimen : specimens) all.push_back(drawdown_of(specimen));
    faults_.raise();
    if (all.empty()) throw DataError(source_ + ": no row has a specimen");
    return all;
  }

 private:
  [[nodiscard]] std::string at(const detail::CsvRow& row) const {
    return source_ + ": line " + std::to_string(row.line);
  }
  [[nodiscard]] std::string at(const detail::CsvRow& row, std::size_t column) const {
    return at(row) + ", column " + header_.cells[column].substr(0, 40);
  }
  [[nodiscard]] bool has(std::string_view word) const { return header_.words.count(word) != 0; }
  [[nodiscard]] std::string cell(const detail::CsvRow& row, std::string_view word) const {
    const auto found = header_.words.find(word);
    return found == header_.words.end() ? std::string() : row.cells[found->second];
  }
  // A cell's word as we call it.
  [[nodiscard]] std::string meaning(const detail::CsvRow& row, std::string_view word) const {
    std::string text = plain(cell(row, word));
    for (const auto& [ours, theirs] : renamed_) {
      if (plain(theirs) == text) return plain(ours);
    }
    return text;
  }
  void wrong_word(const detail::CsvRow& row, std::string_view word, const std::string& of = {}) {
    const Column& column = *column_of(word);
    faults_.add(at(row, header_.words.find(word)->second) + ": " + std::string(column.name) + of +
                " must be " + std::string(column.holds) + ", got \"" +
                cell(row, word).substr(0, 40) + "\"");
  }
  // 0 where it is wrong, which is then told.
  [[nodiscard]] double number(const detail::CsvRow& row, std::size_t column, double least,
                              double most, const std::string& what) {
    std::string text = row.cells[column];
    if (reader_.decimal_comma()) std::replace(text.begin(), text.end(), ',', '.');
    const auto value = detail::parse_number(text);
    if (value && *value >= least && *value <= most) return *value;
    faults_.add(at(row, column) + ": " + what + " must be a number from " +
                detail::format_short(least) + " to " + detail::format_short(most) + ", got \"" +
                text.substr(0, 40) + "\"" +
                (value && *value > 1.5 && most == 1.5 && header_.unit == 1
                     ? "; mark the wavelengths with % for values in percent"
                     : ""));
    return 0;
  }
  [[nodiscard]] double number_of(const detail::CsvRow& row, std::string_view word, double least,
                                 double most) {
    return number(row, header_.words.find(word)->second, least, most,
                  std::string(column_of(word)->name));
  }

  [[nodiscard]] Geometry geometry_of(const detail::CsvRow& row) {
    const std::string text = meaning(row, "geometry");
    if (text == "45/0" || text == "45:0") return Geometry::angle_45_0;
    if (text == "d:8excluded" || text == "d/8excluded") return Geometry::diffuse_8_excluded;
    if (text == "d:8included" || text == "d/8included") return Geometry::diffuse_8_included;
    wrong_word(row, "geometry");
    return Geometry::unstated;
  }

  [[nodiscard]] Lab lab_of(const detail::CsvRow& row) {
    const auto part = [&](std::string_view word, double least, double most) {
      return number_of(row, word, least, most);
    };
    const double l = part("l", 0, 110);
    const double a = part("a", -150, 150);
    return {l, a, part("b", -150, 150)};
  }
  [[nodiscard]] Reflectance curve_of(const detail::CsvRow& row) {
    std::vector<double> values;
    for (const std::size_t column : header_.bands) {
      values.push_back(number(row, column, 0, 1.5 * header_.unit, "a reflectance") / header_.unit);
    }
    return {header_.grid, std::move(values)};
  }
  [[nodiscard]] Face face_of(const detail::CsvRow& row) {
    const std::string text = meaning(row, "lowerface");
    if (text == "rough") return Face::rough;
    if (!text.empty() && text != "smooth") wrong_word(row, "lowerface");
    return Face::smooth;
  }
  [[nodiscard]] std::optional<Aperture> aperture_of(const detail::CsvRow& row) {
    const bool lit = !cell(row, "litmm").empty();
    const bool seen = !cell(row, "seenmm").empty();
    if (!lit && !seen) return {};
    if (lit != seen) {
      faults_.add(at(row) + ": give both lit_mm and seen_mm, or neither");
      return {};
    }
    // So far away that no light reaches them.
    constexpr double endless_mm = 1000;
    const auto diameter = [&](std::string_view word) {
      return meaning(row, word) == "endless" ? endless_mm : number_of(row, word, 0.1, endless_mm);
    };
    const double lit_mm = diameter("litmm");
    const double seen_mm = diameter("seenmm");
    // Of two endless circles that lit is the larger.
    return Aperture{lit_mm, seen_mm == endless_mm ? endless_mm / 2 : seen_mm};
  }

  void add_backing(const detail::CsvRow& row) {
    const std::string name = cell(row, "backing");
    if (name.empty()) {
      faults_.add(at(row) + ": a row needs a specimen, a backing or both");
      return;
    }
    const std::string value = meaning(row, "value");
    if (value != "internal" && value != "external") {
      wrong_word(row, "value", " of backing \"" + name.substr(0, 40) + "\"");
    }
    Bare& bare = backings_[name];
    const Geometry geometry = geometry_of(row);
    if (bare.readings > 0 &&
        (bare.geometry != geometry || bare.internal != (value == "internal"))) {
      faults_.add(at(row) + ": backing \"" + name + "\" is described in two ways");
    }
    bare.geometry = geometry;
    bare.internal = value == "internal";
    const Reflectance curve = header_.has_lab()
                                  ? estimate_reflectance(lab_of(row), viewing_, Grid{400, 10, 31})
                                  : curve_of(row);
    std::vector<double> mean(curve.size());
    const auto n = static_cast<double>(bare.readings);
    for (std::size_t i = 0; i < mean.size(); ++i) {
      mean[i] = (n * (bare.readings > 0 ? bare.reflectance[i] : 0) + curve[i]) / (n + 1);
    }
    bare.reflectance = Reflectance(curve.grid(), std::move(mean));
    ++bare.readings;
  }

  void take_contact(const detail::CsvRow& row, const std::string& name, const Bare& bare,
                    Drawdown& one) {
    const std::string contact = meaning(row, "contact");
    if (contact == "airgap" || contact == "air") {
      if (bare.internal) {
        faults_.add(at(row) + ": across an air gap the backing \"" + name +
                    "\" counts as read in air; give its external value");
      }
      one.contact = Backing::air_gap;
    } else if (contact == "contact") {
      one.contact = bare.internal ? Backing::internal : Backing::seen_in_air;
      if (!bare.internal && bare.geometry != one.geometry) {
        faults_.add(at(row) + ": specimen and backing \"" + name +
                    "\" were read in different geometries");
      }
    } else {
      wrong_word(row, "contact");
    }
  }

  [[nodiscard]] Drawdown drawdown_of(const detail::CsvRow& row) {
    Drawdown one;
    one.specimen = cell(row, "specimen");
    one.thickness_mm = number_of(row, "thicknessmm", 0.01, 30);
    if (!cell(row, "thicknesssdmm").empty()) {
      one.thickness_sd_mm = number_of(row, "thicknesssdmm", 0.0001, 5);
    }
    one.geometry = geometry_of(row);
    one.lower_face = face_of(row);
    one.aperture = aperture_of(row);
    const std::string name = cell(row, "backing");
    const auto bare = backings_.find(name);
    if (bare == backings_.end()) {
      faults_.add(at(row) + ": no row gives the bare backing \"" + name +
                  "\"; add one with an empty specimen");
    } else {
      take_contact(row, name, bare->second, one);
      one.backing = bare->second.reflectance;
    }
    if (header_.has_lab()) {
      one.measured_lab = lab_of(row);
    } else {
      one.measured = curve_of(row);
    }
    return one;
  }

  std::istringstream in_;
  detail::CsvReader reader_;
  const std::string& source_;
  const Viewing& viewing_;
  const DrawdownWords& renamed_;
  Header header_;
  Faults faults_;
  std::map<std::string, Bare> backings_;
};

std::string in_quotes(const std::string& text) {
  std::string out = "\"";
  for (const char c : text) out += c == '"' ? std::string("\"\"") : std::string(1, c);
  return out + "\"";
}

// ISO 28178 text as a table of the same fields; lines keep their numbers.
std::string table_of_cgats(std::string_view text) {
  std::istringstream in{std::string(text)};
  std::string out;
  std::string line;
  std::string row;
  bool format = false;
  bool data = false;
  while (std::getline(in, line)) {
    std::istringstream words(line);
    std::string word;
    std::string written;
    while (words >> std::ws && !words.eof()) {
      bool open = false;
      word.clear();
      if (words.peek() == '"') {
        words.get();
        std::getline(words, word, '"');
        open = true;
      } else {
        words >> word;
      }
      if (!open && word.starts_with('#')) break;
      if (!open && word == "BEGIN_DATA_FORMAT") {
        format = true;
      } else if (!open && word == "END_DATA_FORMAT") {
        format = false;
        written = row;
      } else if (!open && word == "BEGIN_DATA") {
        data = true;
      } else if (!open && word == "END_DATA") {
        data = false;
      } else if (format) {
        row += (row.empty() ? "" : ",") + in_quotes(word);
      } else if (data) {
        written += (written.empty() ? "" : ",") + in_quotes(word);
      }
    }
    out += written + "\n";
  }
  return out;
}

}  // namespace

std::vector<Drawdown> parse_drawdowns(std::string_view csv, const std::string& source,
                                      const Viewing& viewing, const DrawdownWords& renamed) {
  if (detail::is_cgats(csv)) {
    return Reader(table_of_cgats(csv), source, viewing, renamed).drawdowns();
  }
  return Reader(csv, source, viewing, renamed).drawdowns();
}

std::vector<Drawdown> read_drawdowns(const std::filesystem::path& file, const Viewing& viewing,
                                     const DrawdownWords& renamed) {
  return parse_drawdowns(read_file(file, std::size_t{1} << 26), file.string(), viewing, renamed);
}

std::string drawdown_template(const DrawdownTemplate& wanted) {
  if (wanted.thicknesses_mm.empty() || wanted.repeats < 1 || wanted.repeats > 100) {
    throw ArgumentError("a template needs a thickness and 1 to 100 repeats");
  }
  std::string text =
      "# Fill in: one row a reading. Rows without a specimen are the bare backings; value of them\n"
      "# is external as an instrument reads them in air, internal as seen from inside the paste.\n"
      "# geometry: 45/0, d:8 excluded or d:8 included. contact: contact (through a drop of "
      "liquid)\n"
      "# or air gap; lower_face smooth (polished) or rough (ground) counts across an air gap "
      "only.\n"
      "# lit_mm, seen_mm: diameters that the instrument lights and sees, or endless; empty: "
      "unknown.\n"
      "specimen,thickness_mm,thickness_sd_mm,backing,geometry,contact,value,lower_face,lit_mm,"
      "seen_mm";
  std::size_t cells = 3;
  if (wanted.grid) {
    check_grid(*wanted.grid);
    cells = wanted.grid->count;
    for (std::size_t i = 0; i < cells; ++i) {
      text += "," + detail::format_short(wanted.grid->wavelength_nm(i));
    }
  } else {
    text += ",L,a,b";
  }
  text += "\n";
  const std::string empty(cells, ',');
  const auto row = [&](const std::string& begin, const char* contact, const char* value) {
    for (int i = 0; i < wanted.repeats; ++i) {
      text += begin + "," + wanted.geometry + "," + contact + "," + value + ",,," + empty + "\n";
    }
  };
  for (const char* backing : {"black", "white"}) row(std::string(",,,") + backing, "", "external");
  int specimen = 0;
  for (const double mm : wanted.thicknesses_mm) {
    ++specimen;
    for (const char* backing : {"black", "white"}) {
      row("disc " + std::to_string(specimen) + "," + detail::format_fixed(mm, 2) + ",0.02," +
              backing,
          "contact", "");
    }
  }
  return text;
}

}  // namespace mamelon
