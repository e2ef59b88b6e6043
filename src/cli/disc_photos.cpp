#include "cli/disc_photos.h"

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <map>
#include <utility>

namespace mamelon::cli {
namespace {

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
Measured<Lab> colour_in(const Shot& shot, const PhotographedDisc& row) {
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
  const std::vector<PhotographedDisc> rows = read_photographed_discs(table);
  const std::filesystem::path folder = std::filesystem::path(table).parent_path();
  std::map<std::string, Shot> shots;
  std::map<std::string, Reflectance> backings;
  std::vector<std::pair<const PhotographedDisc*, Measured<Lab>>> discs;
  for (const PhotographedDisc& row : rows) {
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
