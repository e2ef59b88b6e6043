#include "cli/disc_photos.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <filesystem>
#include <map>
#include <sstream>
#include <utility>

#include "base/numbers.h"
#include "io/csv.h"

namespace mamelon::cli {
namespace {

constexpr std::array names{"photo", "specimen", "thickness_mm", "thickness_sd_mm", "backing",
                           "x",     "y",        "width",        "height"};

struct Row {
  std::string where;
  std::string photo, specimen, backing;
  double thickness_mm = 0;
  double thickness_sd_mm = 0.02;
  BoxPx box;
};

class Table {
 public:
  explicit Table(const std::string& file)
      : in_(read_file(file, std::size_t{1} << 26)), reader_(in_, file), file_(file) {}

  std::vector<Row> rows() {
    detail::CsvRow row;
    if (!reader_.next(row)) throw DataError(file_ + ": is empty");
    for (std::size_t i = 0; i < row.cells.size(); ++i) at_[row.cells[i]] = i;
    for (const char* name : names) {
      if (at_.count(name) == 0 && std::string(name) != "thickness_sd_mm") {
        throw DataError(file_ + ": line " + std::to_string(row.line) + ": the column " + name +
                        " is missing; a table of discs in photos has photo, specimen, "
                        "thickness_mm, backing, x, y, width and height");
      }
    }
    const std::size_t count = row.cells.size();
    std::vector<Row> all;
    while (reader_.next(row)) {
      const std::string where = file_ + ": line " + std::to_string(row.line);
      if (row.cells.size() != count) {
        throw DataError(where + ": expected " + std::to_string(count) + " cells, got " +
                        std::to_string(row.cells.size()));
      }
      all.push_back(row_of(row, where));
    }
    return all;
  }

 private:
  [[nodiscard]] std::string cell(const detail::CsvRow& row, const std::string& name) const {
    const auto found = at_.find(name);
    return found == at_.end() ? std::string() : row.cells[found->second];
  }
  [[nodiscard]] double number(const detail::CsvRow& row, const std::string& name, double least,
                              double most, const std::string& where) const {
    std::string text = cell(row, name);
    if (reader_.decimal_comma()) std::replace(text.begin(), text.end(), ',', '.');
    const auto value = detail::parse_number(text);
    if (!value || *value < least || *value > most) {
      throw DataError(where + ", column " + name + ": must be a number from " +
                      detail::format_short(least) + " to " + detail::format_short(most) +
                      ", got \"" + text.substr(0, 40) + "\"");
    }
    return *value;
  }
  [[nodiscard]] Row row_of(const detail::CsvRow& row, const std::string& where) const {
    Row out;
    out.where = where;
    out.photo = cell(row, "photo");
    out.specimen = cell(row, "specimen");
    out.backing = cell(row, "backing");
    if (out.photo.empty() || out.backing.empty()) {
      throw DataError(where + ": a row needs a photo and the backing's name");
    }
    constexpr double most_px = 1e6;
    out.box = {number(row, "x", 0, most_px, where), number(row, "y", 0, most_px, where),
               number(row, "width", 4, most_px, where), number(row, "height", 4, most_px, where)};
    if (!out.specimen.empty()) {
      out.thickness_mm = number(row, "thickness_mm", 0.01, 30, where);
      if (!cell(row, "thickness_sd_mm").empty()) {
        out.thickness_sd_mm = number(row, "thickness_sd_mm", 0.0001, 5, where);
      }
    }
    return out;
  }

  std::istringstream in_;
  detail::CsvReader reader_;
  const std::string& file_;
  std::map<std::string, std::size_t> at_;
};

struct Shot {
  Photo photo;
  CardFit fit;
};

Shot shot_of(const std::filesystem::path& file, const PhotoOptionsText& options, const Card& card,
             const Viewing& viewing, std::vector<std::string>& warnings) {
  Photo photo = read_photo(file);
  CardFit fit = fit_card(photo, card, viewing, fit_options(options));
  for (const std::string& text : fit.warnings) {
    if (std::find(warnings.begin(), warnings.end(), text) == warnings.end()) {
      warnings.push_back(text);
    }
  }
  return {std::move(photo), std::move(fit)};
}

// The bare backings are no composite: what they are is not known.
Measured<Lab> colour_in(const Shot& shot, const Row& row) {
  return read_box(shot.photo, shot.fit, row.box,
                  row.specimen.empty() ? SurfaceKind::unknown : SurfaceKind::restoration,
                  row.specimen.empty() ? row.backing : row.specimen)
      .lab;
}

double spread(const Measured<Lab>& lab) {
  const Vec3 sd = lab.sd();
  return std::sqrt((sd[0] * sd[0] + sd[1] * sd[1] + sd[2] * sd[2]) / 3);
}

}  // namespace

std::vector<Drawdown> drawdowns_in_photos(const std::string& table, const PhotoOptionsText& options,
                                          const Viewing& viewing,
                                          std::vector<std::string>& warnings) {
  if (options.card.empty()) {
    throw ArgumentError("--photos needs --card FILE, the reference card that stands in each photo");
  }
  const Card card = read_card(options.card);
  const std::vector<Row> rows = Table(table).rows();
  const std::filesystem::path folder = std::filesystem::path(table).parent_path();
  std::map<std::string, Shot> shots;
  std::map<std::string, Reflectance> backings;
  std::vector<std::pair<const Row*, Measured<Lab>>> discs;
  for (const Row& row : rows) {
    auto shot = shots.find(row.photo);
    if (shot == shots.end()) {
      shot = shots.emplace(row.photo, shot_of(folder / row.photo, options, card, viewing, warnings))
                 .first;
    }
    const Measured<Lab> lab = colour_in(shot->second, row);
    if (row.specimen.empty()) {
      backings[row.backing] = estimate_reflectance(lab.value, viewing, Grid{400, 10, 31});
    } else {
      discs.emplace_back(&row, lab);
    }
  }
  std::vector<Drawdown> all;
  for (const auto& [row, lab] : discs) {
    const auto backing = backings.find(row->backing);
    if (backing == backings.end()) {
      throw DataError(row->where + ": no row gives the bare backing \"" + row->backing +
                      "\"; add one with an empty specimen");
    }
    Drawdown one;
    one.specimen = row->specimen;
    one.thickness_mm = row->thickness_mm;
    one.thickness_sd_mm = row->thickness_sd_mm;
    // A lamp from the side and a camera from above see no gloss; all of the disc is lit.
    one.geometry = Geometry::angle_45_0;
    one.contact = Backing::seen_in_air;
    one.aperture = Aperture{1000, 500};
    one.backing = backing->second;
    one.measured_lab = lab.value;
    one.lab_sd = std::max(spread(lab), 0.05);
    all.push_back(std::move(one));
  }
  if (all.empty()) throw DataError(table + ": no row has a specimen");
  warnings.emplace_back(
      "colours of photos shape the curves of the constants by what resins and pigments usually do; "
      "a spectrophotometer tells them better");
  return all;
}

}  // namespace mamelon::cli
