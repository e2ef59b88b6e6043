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

struct Header {
  std::map<std::string, std::size_t> words;
  std::vector<std::size_t> bands;  // in order of rising wavelength
  Grid grid;
  double unit = 1;
  std::size_t count = 0;
  [[nodiscard]] bool has_lab() const { return words.count("l") != 0; }
};

constexpr std::array<std::string_view, 10> known_words = {
    "specimen", "thicknessmm", "thicknesssdmm", "backing", "geometry", "contact", "value", "l", "a",
    "b"};

Header header_of(const std::vector<std::string>& cells, const std::string& where) {
  Header header;
  header.count = cells.size();
  std::vector<std::pair<double, std::size_t>> bands;
  for (std::size_t i = 0; i < cells.size(); ++i) {
    const std::string word = plain(cells[i]);
    if (std::find(known_words.begin(), known_words.end(), word) != known_words.end()) {
      if (!header.words.emplace(word, i).second) {
        throw DataError(where + ": the column " + cells[i] + " stands twice");
      }
    } else if (const auto nm = detail::wavelength_of(cells[i])) {
      bands.emplace_back(*nm, i);
      if (cells[i].find('%') != std::string::npos) header.unit = 100;
    } else {
      throw DataError(where + ": the column \"" + cells[i].substr(0, 40) +
                      "\" is not known; there are specimen, thickness_mm, thickness_sd_mm, "
                      "backing, geometry, contact, value, wavelengths in nm, or L, a, b");
    }
  }
  for (const char* needed :
       {"specimen", "thicknessmm", "backing", "geometry", "contact", "value"}) {
    if (header.words.count(needed) == 0) {
      throw DataError(where + ": the column " +
                      (std::string(needed) == "thicknessmm" ? "thickness_mm" : needed) +
                      " is missing; how a drawdown was read must be stated");
    }
  }
  const bool whole_lab =
      header.words.count("l") + header.words.count("a") + header.words.count("b") == 3;
  if (bands.empty() != whole_lab || (bands.empty() && !whole_lab)) {
    throw DataError(where + ": give either wavelengths in nm or the columns L, a, b");
  }
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
  Reflectance curve;
  Geometry geometry = Geometry::unstated;
  bool internal = false;
  std::size_t readings = 0;
};

class Reader {
 public:
  Reader(std::string_view csv, const std::string& source, const Viewing& viewing)
      : in_(std::string(csv)), reader_(in_, source), source_(source), viewing_(viewing) {}

  std::vector<Drawdown> drawdowns() {
    detail::CsvRow row;
    if (!reader_.next(row)) {
      throw DataError(source_ + ": is empty; give a header row specimen,thickness_mm,backing,…");
    }
    header_ = header_of(row.cells, at(row));
    std::vector<detail::CsvRow> specimens;
    while (reader_.next(row)) {
      if (row.cells.size() != header_.count) {
        throw DataError(at(row) + ": expected " + std::to_string(header_.count) + " cells, got " +
                        std::to_string(row.cells.size()));
      }
      if (cell(row, "specimen").empty()) {
        add_backing(row);
      } else {
        specimens.push_back(row);
      }
    }
    std::vector<Drawdown> all;
    all.reserve(specimens.size());
    for (const detail::CsvRow& specimen : specimens) all.push_back(drawdown_of(specimen));
    if (all.empty()) throw DataError(source_ + ": no row has a specimen");
    return all;
  }

 private:
  [[nodiscard]] std::string at(const detail::CsvRow& row) const {
    return source_ + ": line " + std::to_string(row.line);
  }
  [[nodiscard]] std::string cell(const detail::CsvRow& row, const std::string& word) const {
    const auto found = header_.words.find(word);
    return found == header_.words.end() ? std::string() : row.cells[found->second];
  }
  [[nodiscard]] double number(const detail::CsvRow& row, std::size_t column, double least,
                              double most, const std::string& what) const {
    std::string text = row.cells[column];
    if (reader_.decimal_comma()) std::replace(text.begin(), text.end(), ',', '.');
    const auto value = detail::parse_number(text);
    if (!value || *value < least || *value > most) {
      throw DataError(at(row) + ": " + what + " must be a number from " +
                      detail::format_short(least) + " to " + detail::format_short(most) +
                      ", got \"" + text.substr(0, 40) + "\"" +
                      (value && *value > 1.5 && most == 1.5 && header_.unit == 1
                           ? "; mark the wavelengths with % for values in percent"
                           : ""));
    }
    return *value;
  }

  [[nodiscard]] Geometry geometry_of(const detail::CsvRow& row) const {
    const std::string text = plain(cell(row, "geometry"));
    if (text == "45/0" || text == "45:0") return Geometry::angle_45_0;
    if (text == "d:8excluded" || text == "d/8excluded") return Geometry::diffuse_8_excluded;
    if (text == "d:8included" || text == "d/8included") return Geometry::diffuse_8_included;
    throw DataError(at(row) + ": geometry must be 45/0, d:8 excluded or d:8 included, got \"" +
                    cell(row, "geometry").substr(0, 40) + "\"");
  }

  [[nodiscard]] Lab lab_of(const detail::CsvRow& row) const {
    const auto part = [&](const char* word, double least, double most) {
      return number(row, header_.words.at(word), least, most, word);
    };
    return {part("l", 0, 110), part("a", -150, 150), part("b", -150, 150)};
  }
  [[nodiscard]] Reflectance curve_of(const detail::CsvRow& row) const {
    std::vector<double> values;
    for (const std::size_t column : header_.bands) {
      values.push_back(number(row, column, 0, 1.5 * header_.unit, "a reflectance") / header_.unit);
    }
    return {header_.grid, std::move(values)};
  }

  void add_backing(const detail::CsvRow& row) {
    const std::string name = cell(row, "backing");
    if (name.empty()) {
      throw DataError(at(row) + ": a row needs a specimen, a backing or both");
    }
    const std::string value = plain(cell(row, "value"));
    if (value != "internal" && value != "external") {
      throw DataError(at(row) + ": value of backing \"" + name +
                      "\" must be internal (as seen from inside the paste) or external (as an "
                      "instrument reads it in air)");
    }
    Bare& bare = backings_[name];
    const Geometry geometry = geometry_of(row);
    if (bare.readings > 0 &&
        (bare.geometry != geometry || bare.internal != (value == "internal"))) {
      throw DataError(at(row) + ": backing \"" + name + "\" is described in two ways");
    }
    bare.geometry = geometry;
    bare.internal = value == "internal";
    const Reflectance curve = header_.has_lab()
                                  ? estimate_reflectance(lab_of(row), viewing_, Grid{400, 10, 31})
                                  : curve_of(row);
    std::vector<double> mean(curve.size());
    const auto n = static_cast<double>(bare.readings);
    for (std::size_t i = 0; i < mean.size(); ++i) {
      mean[i] = (n * (bare.readings > 0 ? bare.curve[i] : 0) + curve[i]) / (n + 1);
    }
    bare.curve = Reflectance(curve.grid(), std::move(mean));
    ++bare.readings;
  }

  [[nodiscard]] Drawdown drawdown_of(const detail::CsvRow& row) const {
    Drawdown one;
    one.specimen = cell(row, "specimen");
    one.thickness_mm = number(row, header_.words.at("thicknessmm"), 0.01, 30, "thickness_mm");
    if (!cell(row, "thicknesssdmm").empty()) {
      one.thickness_sd_mm =
          number(row, header_.words.at("thicknesssdmm"), 0.0001, 5, "thickness_sd_mm");
    }
    one.geometry = geometry_of(row);
    const std::string name = cell(row, "backing");
    const auto bare = backings_.find(name);
    if (bare == backings_.end()) {
      throw DataError(at(row) + ": no row gives the bare backing \"" + name + "\"");
    }
    const std::string contact = plain(cell(row, "contact"));
    if (contact != "contact" && contact != "airgap") {
      throw DataError(at(row) +
                      ": contact must be contact (optical, through a liquid) or air gap, got \"" +
                      cell(row, "contact").substr(0, 40) + "\"");
    }
    if (contact == "airgap") {
      if (bare->second.internal) {
        throw DataError(at(row) + ": across an air gap the backing \"" + name +
                        "\" counts as read in air; give its external value");
      }
      one.contact = Backing::air_gap;
    } else {
      one.contact = bare->second.internal ? Backing::internal : Backing::seen_in_air;
      if (!bare->second.internal && bare->second.geometry != one.geometry) {
        throw DataError(at(row) + ": specimen and backing \"" + name +
                        "\" were read in different geometries");
      }
    }
    one.backing = bare->second.curve;
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
  Header header_;
  std::map<std::string, Bare> backings_;
};

}  // namespace

std::vector<Drawdown> parse_drawdowns(std::string_view csv, const std::string& source,
                                      const Viewing& viewing) {
  return Reader(csv, source, viewing).drawdowns();
}

std::vector<Drawdown> read_drawdowns(const std::filesystem::path& file, const Viewing& viewing) {
  return parse_drawdowns(read_file(file, std::size_t{1} << 26), file.string(), viewing);
}

}  // namespace mamelon
