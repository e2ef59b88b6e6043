#include "cli/disc_photos.h"

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <map>
#include <span>
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
Lab backing_in(const Shot& shot, const PhotographedDisc& row) {
  return read_box(shot.photo, shot.fit, row.box, SurfaceKind::unknown, row.backing).lab.value;
}

// Light from 45° enters a paste of index 1.5 by 4.6 % more than light from all sides (Fresnel), and
// light on a bench is between both. Colours are taken from the middle to even light, where the fit
// has them; what that may be off by (of a uniform distribution) moves all discs alike.
constexpr double to_even = 1 / 1.023;
constexpr double to_even_log_sd = 0.013;

// Colours of the discs in one photo, with the errors that they share.
void read_colours(const Shot& shot, const std::vector<const PhotographedDisc*>& rows,
                  const Viewing& viewing, std::span<Drawdown> drawdowns) {
  std::vector<BoxPx> boxes;
  for (const PhotographedDisc* row : rows) boxes.push_back(row->box);
  JointLab seen = read_discs(shot.photo, shot.fit, boxes);
  const std::size_t n = rows.size();
  std::vector<double> by_light;
  for (std::size_t i = 0; i < n; ++i) {
    const Lab& lab = seen.lab[i];
    by_light.insert(by_light.end(), {to_even_log_sd * (lab.l + 16) / 3, to_even_log_sd * lab.a / 3,
                                     to_even_log_sd * lab.b / 3});
    const Xyz white = white_point(viewing);
    const Xyz xyz = to_xyz(lab, white);
    drawdowns[i].measured_lab =
        to_lab(Xyz{to_even * xyz.x, to_even * xyz.y, to_even * xyz.z}, white);
    drawdowns[i].photo = rows[i]->photo;
  }
  for (std::size_t r = 0; r < 3 * n; ++r) {
    for (std::size_t c = 0; c < 3 * n; ++c) {
      seen.covariance[r * 3 * n + c] += by_light[r] * by_light[c];
    }
  }
  share_errors(drawdowns, seen.covariance);
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
  std::map<std::string, std::vector<const PhotographedDisc*>> discs;
  for (const PhotographedDisc& row : rows) {
    auto shot = shots.find(row.photo);
    if (shot == shots.end()) {
      shot = shots.emplace(row.photo, shot_of(folder / row.photo, options, card, viewing, warnings))
                 .first;
    }
    if (row.specimen.empty()) {
      backings[row.backing] =
          estimate_reflectance(backing_in(shot->second, row), viewing, Grid{400, 10, 31});
    } else {
      discs[row.photo].push_back(&row);
    }
  }
  std::vector<Drawdown> all;
  for (const auto& [photo, of_photo] : discs) {
    if (3 * of_photo.size() > most_shared_errors) {
      throw DataError(of_photo.back()->where + ": " + photo + " has " +
                      std::to_string(of_photo.size()) + " discs; at most " +
                      std::to_string(most_shared_errors / 3) + " are read from one photo");
    }
    const std::size_t first = all.size();
    for (const PhotographedDisc* row : of_photo) {
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
      one.geometry = Geometry::diffuse_8_excluded;
      one.contact = Backing::seen_in_air;
      one.aperture = Aperture{1000, 500};
      one.backing = backing->second;
      all.push_back(std::move(one));
    }
    read_colours(shots.at(photo), of_photo, viewing, std::span(all).subspan(first));
  }
  if (all.empty()) throw DataError(table + ": no row has a specimen");
  warnings.emplace_back(
      "colours of photos shape the curves of the constants by what resins and pigments usually do; "
      "a spectrophotometer tells them better");
  return all;
}

}  // namespace mamelon::cli
