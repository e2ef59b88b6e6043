// The correction without a card, from surfaces of known colour.

#include <algorithm>

#include "mamelon/card.h"
#include "mamelon/error.h"

#include "base/numbers.h"
#include "capture/describe_fit.h"
#include "capture/patches.h"
#include "colour/vectors.h"

namespace mamelon {
namespace {

// Common practice: a tab is about as wide as an upper central incisor.
constexpr double tab_width_mm = 8.5;

void check_surfaces(const Photo& photo, const std::vector<KnownSurface>& surfaces) {
  if (surfaces.empty()) throw ArgumentError("no surface of known colour is given");
  for (const KnownSurface& s : surfaces) {
    if (!s.lab && !s.reflectance) {
      throw ArgumentError("surface '" + s.name + "' has neither a Lab nor a reflectance");
    }
    const BoxPx& b = s.box;
    if (!(b.x >= 0 && b.y >= 0 && b.width >= 1 && b.height >= 1 &&
          b.x + b.width <= static_cast<double>(photo.width) &&
          b.y + b.height <= static_cast<double>(photo.height))) {
      throw ArgumentError(
          "the box of surface '" + s.name + "' is empty or reaches beyond the photo of " +
          std::to_string(photo.width) + "×" + std::to_string(photo.height) + " pixels");
    }
  }
}

double scale_of(const std::vector<KnownSurface>& surfaces, const SurfaceFitOptions& options) {
  if (options.px_per_mm) {
    if (!(*options.px_per_mm > 0.5 && *options.px_per_mm < 2000)) {
      throw ArgumentError("px_per_mm must lie between 0.5 and 2000");
    }
    return *options.px_per_mm;
  }
  std::vector<double> sides;
  for (const KnownSurface& s : surfaces) sides.push_back(std::min(s.box.width, s.box.height));
  std::nth_element(sides.begin(), sides.begin() + static_cast<std::ptrdiff_t>(sides.size() / 2),
                   sides.end());
  return sides[sides.size() / 2] / (tab_width_mm / 2);
}

std::string settings_of(const std::vector<KnownSurface>& surfaces, const Viewing& viewing,
                        double px_per_mm) {
  const auto number = [](double v) { return detail::format_number(v); };
  std::string text = "viewing=" + to_string(viewing) + ";px_per_mm=" + number(px_per_mm);
  for (const KnownSurface& s : surfaces) {
    text += ";" + s.name + "=" + number(s.box.x) + "," + number(s.box.y) + "," +
            number(s.box.width) + "," + number(s.box.height);
    const Lab lab = s.reflectance ? to_lab(*s.reflectance, viewing) : *s.lab;
    text += ":" + number(lab.l) + "," + number(lab.a) + "," + number(lab.b);
  }
  return text;
}

// The surface around its box, where no tooth is to be looked for.
WhiteArea around(const BoxPx& box, double px_per_mm) {
  const double x = std::max(0.0, box.x - box.width / 2);
  const double y = std::max(0.0, box.y - box.height / 2);
  return {x / px_per_mm, y / px_per_mm, 2 * box.width / px_per_mm, 2 * box.height / px_per_mm};
}

}  // namespace

CardFit fit_surfaces(const Photo& photo, const std::vector<KnownSurface>& surfaces,
                     const Viewing& viewing, const SurfaceFitOptions& options) {
  check_surfaces(photo, surfaces);
  if (photo.encoding == Encoding::camera_rendering) {
    throw CaptureError(
        "a camera's own rendering can be undone only with the neutral patches of a card");
  }
  const double s = scale_of(surfaces, options);
  const detail::Homography mm_to_px = {s, 0, 0, 0, s, 0, 0, 0, 1};
  CardFit fit{.mm_to_px = mm_to_px,
              .card_parts = {},
              .patches = {},
              .correction = nullptr,
              .viewing = viewing,
              .warnings = {},
              .provenance = make_provenance("fit_surfaces", settings_of(surfaces, viewing, s),
                                            {photo.provenance.digest}),
              .photo_digest = photo_digest(photo)};
  detail::Training training{.patches = {}, .viewing = viewing, .white = white_point(viewing)};
  PointPx centre;
  for (const KnownSurface& surface : surfaces) {
    const BoxPx& b = surface.box;
    const detail::RegionSample sample =
        detail::sample_region(photo, mm_to_px, detail::inverse(mm_to_px),
                              {b.x / s, b.y / s, (b.width - 1) / s, (b.height - 1) / s}, 0);
    PatchFit patch;
    patch.name = surface.name;
    patch.reason = detail::reason_against(sample);
    patch.used = patch.reason.empty();
    patch.pixels = sample.pixels;
    patch.rgb = sample.rgb;
    patch.rgb_cov = sample.rgb_cov;
    patch.clipped_fraction = sample.clipped_fraction;
    patch.reference = surface.reflectance ? to_lab(*surface.reflectance, viewing) : *surface.lab;
    fit.card_parts.push_back(around(b, s));
    if (patch.used) {
      detail::TrainingPatch p;
      p.raw = p.rgb = detail::to_eigen(sample.rgb);
      p.raw_cov = p.rgb_cov = detail::to_eigen(sample.rgb_cov);
      p.lab = patch.reference;
      p.xyz = detail::to_eigen(to_xyz(p.lab, training.white));
      if (surface.reflectance) p.reflectance = detail::on_response_grid(*surface.reflectance);
      training.patches.push_back(std::move(p));
      centre.x += sample.centre.x;
      centre.y += sample.centre.y;
    } else {
      fit.warnings.push_back("tab '" + patch.name + "' was left out: " + patch.reason);
    }
    fit.patches.push_back(std::move(patch));
  }
  if (training.patches.empty()) {
    throw CaptureError("none of the given tabs can be used: " + fit.warnings.front());
  }
  const auto count = static_cast<double>(training.patches.size());
  const auto light =
      detail::LightField::fit({}, {centre.x / count, centre.y / count},
                              0.5 * static_cast<double>(std::max(photo.width, photo.height)));
  detail::CardMap c = detail::surfaces_map(std::move(training), light, photo.encoding);
  detail::describe_patches(c, fit);
  detail::check_agreement("the colours stated for the tabs", c, fit);
  fit.warnings.push_back("no card: colours are read beside " +
                         std::to_string(c.training.patches.size()) +
                         " tabs, and the light is taken to be even");
  if (!options.px_per_mm) {
    fit.warnings.emplace_back(
        "the scale was taken from the boxes of the tabs: sizes and margins are rough");
  }
  fit.correction = detail::correction_of(std::move(c), {}, std::nullopt);
  return fit;
}

}  // namespace mamelon
