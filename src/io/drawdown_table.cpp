// Drawdowns as a table.

#include <algorithm>
#include <map>
#include <optional>
#include <utility>

#include "mamelon/error.h"
#include "mamelon/files.h"
#include "mamelon/paste_report.h"

#include "base/numbers.h"
#include "io/columns.h"
#include "io/drawdown_records.h"
#include "io/drawdown_words.h"
#include "io/measurements.h"

namespace mamelon {
namespace {

using detail::drawdown_column;
using detail::DrawdownColumn;
using detail::DrawdownRecord;
using detail::DrawdownRecords;
using detail::word_of;

// All that is wrong with a table, told at once.
class Faults {
 public:
  explicit Faults(const std::string& source) : source_(source) {}

  void add(std::string text) {
    if (all_.size() < most) all_.push_back(std::move(text));
    ++count_;
  }
  void raise() const {
    if (all_.empty()) return;
    // The file is named once.
    std::string text = source_ + ": " + all_.front();
    for (std::size_t i = 1; i < all_.size(); ++i) text += "; " + all_[i];
    if (count_ > all_.size()) text += "; and " + std::to_string(count_ - all_.size()) + " more";
    throw DataError(text);
  }

 private:
  static constexpr std::size_t most = 40;
  const std::string& source_;
  std::vector<std::string> all_;
  std::size_t count_ = 0;
};

struct Header {
  std::map<std::string_view, std::size_t> words;
  std::vector<std::size_t> bands;  // in order of rising wavelength
  std::vector<double> wavelengths_nm;
  Grid grid;
  bool resampled = false;
  double unit = 1;
  [[nodiscard]] bool has_lab() const { return bands.empty(); }
};

// A word as we call it.
std::string as_ours(const std::string& text, const DrawdownWords& renamed) {
  std::string word = word_of(text);
  for (const auto& [ours, theirs] : renamed) {
    if (word_of(theirs) == word) word = word_of(ours);
  }
  return word;
}

std::string known_columns() {
  std::string out;
  for (const DrawdownColumn& one : detail::drawdown_columns()) {
    out += (out.empty() ? "" : ", ") + std::string(one.name);
  }
  return out;
}

// What every header means: what the user says, else its own word.
std::vector<std::string_view> meanings_of(const DrawdownRecords& table, const TableOptions& options,
                                          const DrawdownWords& renamed, const std::string& source) {
  std::vector<std::string_view> meanings;
  for (const std::string& text : table.header) {
    std::string_view meaning = detail::drawdown_meaning(text);
    for (const auto& [ours, theirs] : renamed) {
      if (word_of(theirs) != word_of(text)) continue;
      const std::string_view said = detail::drawdown_meaning(ours);
      if (!said.empty()) meaning = said;
    }
    meanings.push_back(meaning);
  }
  detail::take_names(meanings, table.header, options.columns, detail::drawdown_meanings(),
                     detail::drawdown_can_mean(), source + ": " + table.header_place);
  return meanings;
}

void take_bands(Header& header, std::vector<std::pair<double, std::size_t>> bands,
                const DrawdownRecords& table, const TableOptions& options,
                const std::string& where) {
  std::sort(bands.begin(), bands.end());
  for (const auto& [nm, column] : bands) {
    header.wavelengths_nm.push_back(nm);
    header.bands.push_back(column);
  }
  header.resampled = options.resample_nm.has_value();
  header.grid = detail::grid_of_bands(
      header.wavelengths_nm, {.resample_nm = options.resample_nm, .stated = table.bands}, where);
}

Header header_of(const DrawdownRecords& table, const TableOptions& options,
                 const DrawdownWords& renamed, const std::string& source) {
  Header header;
  header.unit = table.full;
  Faults faults(source);
  const std::string where = table.header_place + ": the " + std::string(table.cell_is) + " ";
  std::vector<std::pair<double, std::size_t>> bands;
  const std::vector<std::string_view> meanings = meanings_of(table, options, renamed, source);
  for (std::size_t i = 0; i < table.header.size(); ++i) {
    const std::string& text = table.header[i];
    const std::string_view meaning = meanings[i];
    if (meaning == "unused" || meaning == "given way") continue;
    if (!meaning.empty()) {
      const auto [known, is_new] = header.words.emplace(meaning, i);
      if (is_new) continue;
      // Of several names of the specimen one counts.
      const std::size_t own = detail::specimen_rank(text);
      const std::size_t other = detail::specimen_rank(table.header[known->second]);
      if (meaning != "specimen" || own == other) {
        faults.add(where + std::string(drawdown_column(meaning).name) + " stands twice");
      } else if (own < other) {
        known->second = i;
      }
    } else if (const auto nm = detail::wavelength_of(text)) {
      bands.emplace_back(*nm, i);
      if (text.find('%') != std::string::npos ||
          detail::lowered(text).find("pct") != std::string::npos) {
        header.unit = 100;
      }
    } else if (table.strict) {
      faults.add(where + "\"" + text.substr(0, 40) + "\" is not known; there are " +
                 known_columns() + ", and wavelengths in nm; or say that it is unused");
    }
  }
  // Of transmittances alone nothing lies behind.
  const auto geometry = header.words.find("geometry");
  const bool none_reflects =
      geometry != header.words.end() &&
      std::all_of(table.records.begin(), table.records.end(), [&](const DrawdownRecord& record) {
        return !record.problem.empty() ||
               detail::geometry_of_word(as_ours(record.cells[geometry->second], renamed)) ==
                   Geometry::transmittance;
      });
  const bool named = !table.records.empty() && !table.records.front().name.empty();
  for (const std::string_view needed :
       {"specimen", "thicknessmm", "backing", "geometry", "contact", "value"}) {
    if (header.words.count(needed) != 0 || (needed == "specimen" && named)) continue;
    if (none_reflects && (needed == "backing" || needed == "contact" || needed == "value"))
      continue;
    const DrawdownColumn& column = drawdown_column(needed);
    faults.add(where + std::string(column.name) +
               " is missing; how a drawdown was read must be stated: " + std::string(column.holds));
  }
  // A spectrum decides over a Lab beside it.
  const auto whole_lab =
      header.words.count("l") + header.words.count("a") + header.words.count("b");
  if (bands.empty() && whole_lab != 3) {
    faults.add(table.header_place + ": give either wavelengths in nm or the columns L, a, b");
  }
  faults.raise();
  if (!bands.empty()) {
    take_bands(header, std::move(bands), table, options, source + ": " + table.header_place);
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
  Reader(const DrawdownRecords& table, const std::string& source, const Viewing& viewing,
         const DrawdownWords& renamed, const TableOptions& options)
      : table_(table),
        source_(source),
        viewing_(viewing),
        renamed_(renamed),
        header_(header_of(table, options, renamed, source)),
        faults_(source) {
    if (header_.has_lab()) {
      (void)detail::settle_viewing(table.viewing, viewing, true, source);
    }
  }

  std::vector<Drawdown> drawdowns() {
    for (const DrawdownRecord& row : table_.records) {
      if (!row.problem.empty()) {
        faults_.add(row.place + ": " + row.problem);
      } else if (cell(row, "specimen").empty()) {
        add_backing(row);
      }
    }
    std::vector<Drawdown> all;
    for (const DrawdownRecord& row : table_.records) {
      if (row.problem.empty() && !cell(row, "specimen").empty()) all.push_back(drawdown_of(row));
    }
    faults_.raise();
    if (all.empty()) throw DataError(source_ + ": no row has a specimen");
    return all;
  }

 private:
  // So far away that no light reaches them.
  static constexpr double endless_mm = 1000;

  [[nodiscard]] std::string at(const DrawdownRecord& row, std::size_t column) const {
    const std::string& header = table_.header[column];
    const bool band =
        std::find(header_.bands.begin(), header_.bands.end(), column) != header_.bands.end();
    return row.place + ", " +
           (band && table_.cell_is == "tag" ? "wavelength" : std::string(table_.cell_is)) + " " +
           header.substr(0, 40);
  }
  [[nodiscard]] bool has(std::string_view word) const { return header_.words.count(word) != 0; }
  // Empty where there is no such column.
  [[nodiscard]] std::string stated(const DrawdownRecord& row, std::string_view word) const {
    const auto found = header_.words.find(word);
    return found == header_.words.end() ? std::string() : row.cells[found->second];
  }
  // Where every record has a name, one without a thickness is that of a bare backing.
  [[nodiscard]] std::string cell(const DrawdownRecord& row, std::string_view word) const {
    std::string text = stated(row, word);
    if (!text.empty() || row.name.empty() || has("specimen")) return text;
    const std::string_view named = stated(row, "thicknessmm").empty() ? "backing" : "specimen";
    return word == named ? row.name : text;
  }
  // A cell's word as we call it.
  [[nodiscard]] std::string meaning(const DrawdownRecord& row, std::string_view word) const {
    return detail::cell_meaning(word, as_ours(cell(row, word), renamed_));
  }
  void wrong_word(const DrawdownRecord& row, std::string_view word, const std::string& of = {}) {
    const DrawdownColumn& column = drawdown_column(word);
    const auto known = header_.words.find(word);
    faults_.add((known == header_.words.end() ? row.place : at(row, known->second)) + ": " +
                std::string(column.name) + of + " must be " + std::string(column.holds) +
                ", got \"" + cell(row, word).substr(0, 40) + "\"");
  }
  // 0 where it is wrong, which is then told.
  [[nodiscard]] double number(const DrawdownRecord& row, std::size_t column, double least,
                              double most, const std::string& what) {
    std::string text = row.cells[column];
    if (table_.decimal_comma) std::replace(text.begin(), text.end(), ',', '.');
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
  [[nodiscard]] double number_of(const DrawdownRecord& row, std::string_view word, double least,
                                 double most) {
    return number(row, header_.words.find(word)->second, least, most,
                  std::string(drawdown_column(word).name));
  }

  [[nodiscard]] Geometry geometry_of(const DrawdownRecord& row) {
    const auto geometry = detail::geometry_of_word(meaning(row, "geometry"));
    if (!geometry) wrong_word(row, "geometry");
    return geometry.value_or(Geometry::unstated);
  }

  [[nodiscard]] Lab lab_of(const DrawdownRecord& row) {
    const auto part = [&](std::string_view word, double least, double most) {
      return number_of(row, word, least, most);
    };
    const double l = part("l", 0, 110);
    const double a = part("a", -150, 150);
    return {l, a, part("b", -150, 150)};
  }
  [[nodiscard]] Reflectance curve_of(const DrawdownRecord& row,
                                     const std::string& what = "a reflectance") {
    std::vector<double> values;
    for (const std::size_t column : header_.bands) {
      values.push_back(number(row, column, 0, 1.5 * header_.unit, what) / header_.unit);
    }
    return header_.resampled
               ? detail::resampled_reflectance(header_.wavelengths_nm, values, header_.grid)
               : Reflectance(header_.grid, std::move(values));
  }
  [[nodiscard]] Face face_of(const DrawdownRecord& row) {
    const std::string text = meaning(row, "lowerface");
    if (text == "rough") return Face::rough;
    if (!text.empty() && text != "smooth") wrong_word(row, "lowerface");
    return Face::smooth;
  }
  [[nodiscard]] std::optional<Aperture> aperture_of(const DrawdownRecord& row) {
    const bool lit = !cell(row, "litmm").empty();
    const bool seen = !cell(row, "seenmm").empty();
    if (!lit && !seen) return {};
    if (lit != seen) {
      faults_.add(row.place + ": give both lit_mm and seen_mm, or neither");
      return {};
    }
    const auto diameter = [&](std::string_view word) {
      return meaning(row, word) == "endless" ? endless_mm : number_of(row, word, 0.1, endless_mm);
    };
    const double lit_mm = diameter("litmm");
    const double seen_mm = diameter("seenmm");
    // Of two endless circles that lit is the larger.
    return Aperture{lit_mm, seen_mm == endless_mm ? endless_mm / 2 : seen_mm};
  }

  void add_backing(const DrawdownRecord& row) {
    const std::string name = cell(row, "backing");
    if (name.empty()) {
      faults_.add(row.place + ": a row needs a specimen, a backing or both");
      return;
    }
    const std::string value = meaning(row, "value");
    if (value != "internal" && value != "external") {
      wrong_word(row, "value", " of backing \"" + name.substr(0, 40) + "\"");
    }
    Bare& bare = backings_[name];
    const Geometry geometry = geometry_of(row);
    if (geometry == Geometry::transmittance) {
      faults_.add(row.place + ": a transmittance needs the specimen's name");
    }
    if (bare.readings > 0 &&
        (bare.geometry != geometry || bare.internal != (value == "internal"))) {
      faults_.add(row.place + ": backing \"" + name + "\" is described in two ways");
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

  void take_contact(const DrawdownRecord& row, const std::string& name, const Bare& bare,
                    Drawdown& one) {
    const std::string contact = meaning(row, "contact");
    if (contact == "airgap") {
      if (bare.internal) {
        faults_.add(row.place + ": across an air gap the backing \"" + name +
                    "\" counts as read in air; give its external value");
      }
      one.contact = Backing::air_gap;
    } else if (contact == "contact") {
      one.contact = bare.internal ? Backing::internal : Backing::seen_in_air;
      if (!bare.internal && bare.geometry != one.geometry) {
        faults_.add(row.place + ": specimen and backing \"" + name +
                    "\" were read in different geometries");
      }
    } else {
      wrong_word(row, "contact");
    }
  }

  // Nothing lies behind the specimen.
  void take_air(const DrawdownRecord& row, Drawdown& one) {
    const Grid grid = header_.has_lab() ? Grid{400, 10, 31} : header_.grid;
    one.contact = Backing::air_gap;
    one.backing = Reflectance(grid, std::vector<double>(grid.count));
    const std::string behind = meaning(row, "backing");
    if (!behind.empty() && behind != "none") {
      faults_.add(row.place +
                  ": a transmittance has nothing behind the specimen; leave the backing empty");
    }
    const std::string contact = meaning(row, "contact");
    if (!contact.empty() && contact != "airgap") {
      faults_.add(row.place + ": with nothing behind the specimen leave the contact empty");
    }
    if (one.geometry == Geometry::transmittance && one.aperture &&
        one.aperture->seen_mm < endless_mm / 2) {
      faults_.add(row.place +
                  ": a transmittance counts all the light that leaves the other side; leave lit_mm "
                  "and seen_mm empty");
    }
  }

  [[nodiscard]] Drawdown drawdown_of(const DrawdownRecord& row) {
    Drawdown one;
    one.specimen = cell(row, "specimen");
    one.thickness_mm = number_of(row, "thicknessmm", 0.01, 30);
    if (!cell(row, "thicknesssdmm").empty()) {
      one.thickness_sd_mm = number_of(row, "thicknesssdmm", 0.0001, 5);
    }
    one.geometry = geometry_of(row);
    one.lower_face = face_of(row);
    one.aperture = aperture_of(row);
    const bool passes = one.geometry == Geometry::transmittance;
    const std::string name = cell(row, "backing");
    const auto bare = backings_.find(name);
    if (passes || (bare == backings_.end() && meaning(row, "backing") == "none")) {
      take_air(row, one);
    } else if (bare == backings_.end()) {
      faults_.add(row.place + ": no row gives the bare backing \"" + name +
                  "\"; add one with an empty specimen");
    } else {
      take_contact(row, name, bare->second, one);
      one.backing = bare->second.reflectance;
    }
    if (header_.has_lab()) {
      one.measured_lab = lab_of(row);
    } else {
      one.measured = curve_of(row, passes ? "a transmittance" : "a reflectance");
    }
    return one;
  }

  const DrawdownRecords& table_;
  const std::string& source_;
  const Viewing& viewing_;
  const DrawdownWords& renamed_;
  Header header_;
  Faults faults_;
  std::map<std::string, Bare> backings_;
};

}  // namespace

std::vector<Drawdown> parse_drawdowns(std::string_view text, const std::string& source,
                                      const Viewing& viewing, const DrawdownWords& renamed,
                                      const TableOptions& options) {
  const DrawdownRecords table = detail::drawdown_records(text, source);
  return Reader(table, source, viewing, renamed, options).drawdowns();
}

std::vector<Drawdown> read_drawdowns(const std::filesystem::path& file, const Viewing& viewing,
                                     const DrawdownWords& renamed, const TableOptions& options) {
  return parse_drawdowns(read_file(file, std::size_t{1} << 26), file.string(), viewing, renamed,
                         options);
}

}  // namespace mamelon
