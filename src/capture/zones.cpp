#include "mamelon/zones.h"

#include <algorithm>
#include <array>
#include <cmath>

#include <opencv2/imgproc.hpp>

#include "mamelon/error.h"

#include "base/numbers.h"
#include "base/parallel.h"
#include "capture/belongs.h"
#include "capture/fissures.h"
#include "capture/geometry.h"
#include "capture/glare.h"
#include "capture/later.h"
#include "capture/long_axis.h"
#include "capture/outline.h"
#include "capture/rim_shift.h"
#include "capture/unsound.h"
#include "capture/zone_sums.h"
#include "colour/vectors.h"

namespace mamelon {
namespace {

using detail::LabView;
using detail::Outline;

bool inside_photo(const Photo& photo, double x, double y) {
  return x >= 0 && y >= 0 && x <= static_cast<double>(photo.width) - 1 &&
         y <= static_cast<double>(photo.height) - 1;
}

void check_point(const Photo& photo, PointPx at, const char* what) {
  if (inside_photo(photo, at.x, at.y)) return;
  throw ArgumentError(std::string(what) + " lies outside the photo of " +
                      std::to_string(photo.width) + "×" + std::to_string(photo.height) + " pixels");
}

void check_hint(const Photo& photo, const ToothHint& hint) {
  if ((hint.point ? 1 : 0) + (hint.box ? 1 : 0) + (hint.mask ? 1 : 0) + (hint.rim.empty() ? 0 : 1) >
      1) {
    throw ArgumentError("give the tooth as a point, a box, a rim or a mask, only one of them");
  }
  if (hint.mask && !(hint.inside.empty() && hint.outside.empty())) {
    throw ArgumentError("a mask says all; give points inside or outside without it");
  }
  if (hint.box) {
    const BoxPx& b = *hint.box;
    if (!(b.width > 0 && b.height > 0) || !inside_photo(photo, b.x, b.y) ||
        !inside_photo(photo, b.x + b.width - 1, b.y + b.height - 1)) {
      throw ArgumentError("the tooth box is empty or reaches beyond the photo of " +
                          std::to_string(photo.width) + "×" + std::to_string(photo.height) +
                          " pixels");
    }
  }
  if (hint.point) check_point(photo, *hint.point, "the tooth point");
  if (!hint.rim.empty() && hint.rim.size() < 3) {
    throw ArgumentError("a drawn rim needs at least 3 corners, not " +
                        std::to_string(hint.rim.size()));
  }
  for (const PointPx& p : hint.rim) check_point(photo, p, "a corner of the drawn rim");
  for (const PointPx& p : hint.inside) check_point(photo, p, "a point inside the tooth");
  for (const PointPx& p : hint.outside) check_point(photo, p, "a point outside the tooth");
}

std::string place(PointPx p) {
  return detail::format_fixed(p.x, 0) + "," + detail::format_fixed(p.y, 0);
}

// Which tooth was taken, and which others are there: a photo turned or framed a little differently
// gives another.
std::string unasked(const Photo& photo, const CardFit& fit, PointPx taken) {
  const auto away = [&](PointPx p) { return std::hypot(p.x - taken.x, p.y - taken.y); };
  const double half_a_tooth = 3 * detail::px_per_mm_at(fit, taken);
  std::vector<PointPx> others;
  for (const PointPx& p : detail::likely_teeth(photo, fit)) {
    if (away(p) > half_a_tooth) others.push_back(p);
  }
  std::stable_sort(others.begin(), others.end(),
                   [&](PointPx a, PointPx b) { return away(a) < away(b); });
  std::string text =
      "no tooth was pointed at: the largest near the middle was taken, at " + place(taken);
  if (others.empty()) return text;
  constexpr std::size_t most = 4;
  others.resize(std::min(others.size(), most));
  text += "; others may be at";
  for (const PointPx& p : others) text += " " + place(p);
  return text + ": point at the one that is meant";
}

Outline find_outline(const Photo& photo, const CardFit& fit, ToothHint hint,
                     std::vector<std::string>& warnings) {
  if (hint.mask) {
    detail::check_mask(photo, *hint.mask);
    return detail::outline_from_mask(photo, fit, *hint.mask);
  }
  if (!hint.point && !hint.box && hint.rim.empty()) {
    if (hint.inside.empty()) {
      hint.point = detail::find_a_tooth(photo, fit);
      warnings.push_back(unasked(photo, fit, *hint.point));
    } else {
      hint.point = hint.inside.front();
    }
  }
  return detail::outline_from_hint(photo, fit, hint);
}

// Linear interpolation between pixel centres along a row, the border held.
class RowSampler {
 public:
  RowSampler(const cv::Mat1f& image, float y)
      : last_x_(image.cols - 1), y_(std::clamp(y, 0.0F, static_cast<float>(image.rows - 1))) {
    const int y0 = std::min(static_cast<int>(y_), image.rows - 2);
    upper_ = image.ptr<float>(y0);
    lower_ = image.ptr<float>(y0 + 1);
    v_ = y_ - static_cast<float>(y0);
  }
  float operator()(float at) const {
    const float x = std::clamp(at, 0.0F, static_cast<float>(last_x_));
    const int x0 = std::min(static_cast<int>(x), last_x_ - 1);
    const float u = x - static_cast<float>(x0);
    return (1 - v_) * ((1 - u) * upper_[x0] + u * upper_[x0 + 1]) +
           v_ * ((1 - u) * lower_[x0] + u * lower_[x0 + 1]);
  }

 private:
  int last_x_;
  float y_;
  const float* upper_ = nullptr;
  const float* lower_ = nullptr;
  float v_ = 0;
};

// std::lround of v within 0…last, without a call for each pixel.
int nearest_index(float v, int last) {
  if (!(v > 0)) return 0;
  const int whole = static_cast<int>(v);
  return std::min(whole + (v - static_cast<float>(whole) >= 0.5F ? 1 : 0), last);
}

Mask empty_mask(const cv::Rect& box) {
  Mask mask;
  mask.x = static_cast<std::size_t>(box.x);
  mask.y = static_cast<std::size_t>(box.y);
  mask.width = static_cast<std::size_t>(box.width);
  mask.height = static_cast<std::size_t>(box.height);
  mask.inside.assign(mask.width * mask.height, 0);
  return mask;
}

cv::Rect box_in_photo(const LabView& view, const cv::Mat1b& tooth) {
  const cv::Rect small = cv::boundingRect(tooth);
  cv::Rect box(view.part.x + (small.x - 1) * view.step, view.part.y + (small.y - 1) * view.step,
               (small.width + 2) * view.step, (small.height + 2) * view.step);
  return box & view.part;
}

std::vector<std::string> zone_names(const ZoneOptions& options) {
  if (options.from_above) return {"cusps", "fissures"};
  return {"cervical", "middle", options.kind == ToothKind::anterior ? "incisal" : "occlusal"};
}

// From above: the zone of each of the view's pixels, 0 the cusps and 1 the fissures.
detail::ZonePlaces places_from_above(const Outline& outline, const cv::Mat1b& glare,
                                     const cv::Mat1b& unsound) {
  detail::ZonePlaces places(detail::find_fissures(outline.view, outline.tooth, glare));
  places.setTo(detail::in_no_zone, unsound);
  return places;
}

struct Counts {
  std::size_t tooth = 0;
  std::size_t glare = 0;
  std::size_t clipped = 0;
};

// Fills tooth, glare and zone masks at the photo's resolution.
Counts fill_masks(const Photo& photo, const Outline& outline, const cv::Mat1b& glare,
                  const detail::LongAxis& axis, const detail::ZonePlaces& places, double margin_mm,
                  Zones& zones) {
  const LabView& view = outline.view;
  const cv::Mat1f distance = detail::signed_distance(outline.tooth, outline.rim);
  const auto margin = static_cast<float>(margin_mm * view.px_per_mm);
  const cv::Point2f along = axis.incisal - axis.cervical;
  const float length = along.dot(along);
  Mask& tooth = zones.tooth;
  const cv::Point2f origin =
      view.to_view({static_cast<double>(tooth.x), static_cast<double>(tooth.y)});
  const float step = 1.0F / static_cast<float>(view.step);
  std::vector<Counts> rows(tooth.height);
  const auto fill_row = [&](std::size_t row) {
    Counts counts;
    const float p_y = origin.y + step * static_cast<float>(row);
    const RowSampler depth_at(distance, p_y);
    const std::uint8_t* glare_row = glare.ptr(nearest_index(p_y, glare.rows - 1));
    for (std::size_t column = 0; column < tooth.width; ++column) {
      const std::size_t i = row * tooth.width + column;
      const std::size_t x = tooth.x + column;
      const std::size_t y = tooth.y + row;
      const cv::Point2f p(origin.x + step * static_cast<float>(column), p_y);
      const float depth = depth_at(p.x);
      if (depth <= 0) continue;
      tooth.inside[i] = 1;
      ++counts.tooth;
      const bool clipped = photo.is_clipped(photo.pixel(x, y));
      const bool glaring = glare_row[nearest_index(p.x, glare.cols - 1)] != 0;
      zones.glare.inside[i] = glaring;
      counts.glare += glaring ? 1U : 0U;
      counts.clipped += clipped ? 1U : 0U;
      if (glaring || clipped || depth <= margin) continue;
      // The margin is kept from the ends of the axis too.
      const std::size_t zone =
          places.empty()
              ? detail::third_at((p - axis.cervical).dot(along) / length)
              : places(nearest_index(p_y, places.rows - 1), nearest_index(p.x, places.cols - 1));
      if (zone < zones.zones.size()) zones.zones[zone].mask.inside[i] = 1;
    }
    rows[row] = counts;
  };
  detail::parallel_for(tooth.height, 32, [&](std::size_t begin, std::size_t end) {
    for (std::size_t row = begin; row < end; ++row) fill_row(row);
  });
  Counts total;
  for (const Counts& row : rows) {
    total.tooth += row.tooth;
    total.glare += row.glare;
    total.clipped += row.clipped;
  }
  return total;
}

std::string settings_of(const ToothHint& hint, const ZoneOptions& options) {
  const auto number = [](double v) { return detail::format_number(v); };
  std::string text = options.kind == ToothKind::anterior ? "anterior" : "posterior";
  text += ";margin_mm=" + number(options.margin_mm);
  if (options.from_above) text += ";from_above=1";
  if (options.polarised) text += ";polarised=1";
  if (options.cervical_direction_deg) {
    text += ";cervical_direction_deg=" + number(*options.cervical_direction_deg);
  }
  if (hint.mask) {
    const Mask& m = *hint.mask;
    text += ";mask=" + std::to_string(m.x) + "," + std::to_string(m.y) + "," +
            std::to_string(m.width) + "," + std::to_string(m.height) + ":" +
            sha256_hex(std::as_bytes(std::span(m.inside)));
  } else if (hint.box) {
    text += ";box=" + number(hint.box->x) + "," + number(hint.box->y) + "," +
            number(hint.box->width) + "," + number(hint.box->height);
  } else if (hint.point) {
    text += ";point=" + number(hint.point->x) + "," + number(hint.point->y);
  }
  const auto points = [&](const char* name, const std::vector<PointPx>& list) {
    if (list.empty()) return;
    text += name;
    for (const PointPx& p : list) text += number(p.x) + "," + number(p.y) + " ";
  };
  points(";rim=", hint.rim);
  points(";inside=", hint.inside);
  points(";outside=", hint.outside);
  return text;
}

double distance_to(const WhiteArea& part, PointMm p) {
  const double dx = std::max({part.x_mm - p.x, 0.0, p.x - part.x_mm - part.width_mm});
  const double dy = std::max({part.y_mm - p.y, 0.0, p.y - part.y_mm - part.height_mm});
  return std::hypot(dx, dy);
}

// Beyond what the card's white tells of the light, and far from the card at all.
void warn_of_distance(const CardFit& fit, Zones& zones) {
  if (fit.later) return;  // the fit says what is known of the light without a card
  const PointPx middle = {(zones.cervical_end.x + zones.incisal_end.x) / 2,
                          (zones.cervical_end.y + zones.incisal_end.y) / 2};
  constexpr double uncertain_light = 0.03;  // about one unit of lightness
  const double light_sd = fit.correction->light_log_sd(middle);
  if (light_sd > uncertain_light) {
    const bool tabs = fit.correction->method() == CorrectionMethod::tabs;
    zones.warnings.push_back(
        "the tooth lies outside the light that " +
        std::string(tabs ? "the tabs in the photo measure: ± " : "the card measures: ± ") +
        detail::format_fixed(100 * light_sd, 0) + " % of light; " +
        (tabs ? "hold them right beside it" : "put white beside it or the card nearer"));
  }
  if (fit.card_parts.empty()) return;
  const PointMm at = detail::apply_inverse(detail::inverse(fit.mm_to_px), middle);
  double nearest = 1e9;
  for (const WhiteArea& part : fit.card_parts) nearest = std::min(nearest, distance_to(part, at));
  constexpr double far_mm = 20;
  if (nearest > far_mm) {
    const bool tabs = fit.correction->method() == CorrectionMethod::tabs;
    zones.warnings.push_back((tabs ? "the nearest tab in the photo lies " : "the card lies ") +
                             detail::format_fixed(nearest, 0) +
                             " mm from the tooth; hold it right beside it");
  }
}

// A crown seen from any side covers less than this (common practice: a large upper central incisor
// is 9 mm wide and 12 mm long, a large molar 12 mm by 11 mm).
constexpr double largest_tooth_mm2 = 140;

// Refuses an outline that is likely not the tooth's, and warns of one that may not be.
void judge_outline(Zones& zones) {
  const std::string chance =
      "the outline is the tooth's with a chance of " + detail::format_fixed(zones.confidence, 2);
  if (zones.confidence < least_confidence) {
    throw CaptureError(chance + " only; point at the middle of the tooth, or draw it");
  }
  if (is_doubtful(zones.confidence)) {
    zones.warnings.push_back(chance +
                             "; look at it, and point at the middle of the tooth or draw it");
  }
}

// What is not sound tooth, and whether the reading holds it.
void warn_of_unsound(const detail::Unsound& unsound, bool left_out, Zones& zones) {
  for (const detail::UnsoundPart& part : unsound.parts) {
    zones.warnings.push_back(
        detail::format_fixed(100 * part.share, 0) + " % of the outline is " +
        std::string(part.what) +
        (left_out ? ": left out of the tooth's mean"
                  : ": it counts in the zones' means; look at it, and draw a mask without it where "
                    "it is not sound tooth"));
  }
}

void warn_of_glare(bool polarised, Zones& zones) {
  if (zones.glare_fraction <= 0.15) return;
  zones.warnings.push_back(
      "glare covers " + detail::format_fixed(100 * zones.glare_fraction, 0) + " % of the tooth; " +
      (polarised ? "are the polarisers crossed?" : "move the light or use crossed polarisers"));
}

void add_warnings(const Outline& outline, const detail::LongAxis& axis, const ZoneOptions& options,
                  Zones& zones) {
  const double area_mm2 = cv::countNonZero(outline.tooth) / std::pow(outline.view.px_per_mm, 2);
  if (area_mm2 > largest_tooth_mm2) {
    zones.warnings.push_back("the outline covers " + detail::format_fixed(area_mm2, 0) +
                             " mm², more than a tooth does: gingiva or a neighbour may be part of "
                             "it; draw a box or a mask around the tooth");
  }
  if (outline.touches_border) {
    zones.warnings.emplace_back("the tooth reaches the edge of the photo or of the search area");
  }
  if (axis.guessed && !options.from_above) {
    zones.warnings.emplace_back(
        "no gingiva beside the tooth: the cervical end was taken to point up in the photo");
  }
  warn_of_glare(options.polarised, zones);
  if (zones.clipped_fraction > 0.05) {
    zones.warnings.push_back(detail::format_fixed(100 * zones.clipped_fraction, 0) +
                             " % of the tooth is over-exposed");
  }
  for (const Zone& zone : zones.zones) {
    if (zone.name == "fissures") continue;
    const auto count = std::count(zone.mask.inside.begin(), zone.mask.inside.end(), 1);
    if (static_cast<double>(count) < 0.05 * static_cast<double>(zone.mask.inside.size()) / 3) {
      zones.warnings.push_back("little is left of the " + detail::named(zone) + " to measure");
    }
  }
}

// A smooth tooth has no fissures to speak of.
void drop_what_cannot_be_measured(Zones& zones) {
  std::erase_if(zones.zones, [](const Zone& zone) {
    const auto count = std::count(zone.mask.inside.begin(), zone.mask.inside.end(), 1);
    return zone.name == "fissures" && static_cast<std::size_t>(count) < detail::min_zone_pixels;
  });
}

}  // namespace

Zones find_zones(const Photo& photo, const CardFit& fit, const ToothHint& hint,
                 const ZoneOptions& options) {
  if (!fit.correction) throw ArgumentError("the card fit holds no correction");
  check_belongs(photo, fit, "finding zones");
  if (!(options.margin_mm >= 0 && options.margin_mm <= 3)) {
    throw ArgumentError("the outline's margin must lie between 0 and 3 mm");
  }
  if (options.from_above && options.kind == ToothKind::anterior) {
    throw ArgumentError("from above premolars and molars are read: a front tooth has no cusps");
  }
  check_hint(photo, hint);
  Zones zones;
  const Outline outline = find_outline(photo, fit, hint, zones.warnings);
  const detail::LongAxis axis = detail::find_long_axis(
      outline.tooth, outline.gingiva, outline.view.px_per_mm, options.cervical_direction_deg);
  const cv::Mat1b glare = detail::find_glare(outline.view, outline.tooth, options.polarised);
  const detail::Unsound unsound = detail::find_unsound(outline.view, outline.tooth, glare);
  const detail::ZonePlaces places =
      options.from_above ? places_from_above(outline, glare, unsound.where) : detail::ZonePlaces();
  zones.tooth = empty_mask(box_in_photo(outline.view, outline.tooth));
  zones.glare = zones.tooth;
  for (const std::string& name : zone_names(options)) {
    zones.zones.push_back({name, zones.tooth});
  }
  zones.cervical_end = outline.view.to_photo(axis.cervical);
  zones.incisal_end = outline.view.to_photo(axis.incisal);
  const Counts counts = fill_masks(photo, outline, glare, axis, places, options.margin_mm, zones);
  if (counts.tooth > 0) {
    zones.glare_fraction = static_cast<double>(counts.glare) / static_cast<double>(counts.tooth);
    zones.clipped_fraction =
        static_cast<double>(counts.clipped) / static_cast<double>(counts.tooth);
  }
  for (const detail::UnsoundPart& part : unsound.parts) zones.unsound_fraction += part.share;
  const auto shifts = detail::rim_shifts(outline, glare, axis, places, options.margin_mm);
  for (std::size_t i = 0; i < zones.zones.size(); ++i) zones.zones[i].rim_shift = shifts.at(i);
  if (!hint.mask) {
    zones.confidence = detail::outline_confidence(outline, shifts.at(options.from_above ? 0 : 1));
    judge_outline(zones);
  }
  if (options.from_above) drop_what_cannot_be_measured(zones);
  warn_of_unsound(unsound, options.from_above, zones);
  add_warnings(outline, axis, options, zones);
  warn_of_distance(fit, zones);
  zones.provenance =
      make_provenance("find_zones", settings_of(hint, options), {fit.provenance.digest});
  zones.photo_digest = photo_digest(photo);
  return zones;
}

std::vector<Signal> zone_signals(const Photo& photo, const Zones& zones, SurfaceKind kind) {
  detail::check_zones_belong(photo, zones, "reading zones");
  std::vector<Signal> signals;
  for (const Zone& zone : zones.zones) {
    detail::check_mask(photo, zone.mask);
    const detail::ZoneSums sums = detail::sum_zone(photo, zone.mask);
    if (sums.count < detail::min_zone_pixels) {
      throw CaptureError("nothing is left of the " + detail::named(zone) +
                         " to measure; avoid glare and over-exposure");
    }
    signals.push_back(
        {detail::to_vec3(sums.mean), detail::to_mat3(sums.mean_cov), sums.centre, kind});
  }
  return signals;
}

std::vector<Reading> read_zones(const Photo& photo, const CardFit& fit, const Zones& zones,
                                const std::string& label, SurfaceKind kind) {
  if (!fit.correction) throw ArgumentError("the card fit holds no correction");
  check_belongs(photo, fit, "reading zones");
  const std::vector<Signal> signals = zone_signals(photo, zones, kind);
  std::vector<Reading> readings;
  for (std::size_t i = 0; i < signals.size(); ++i) {
    const Zone& zone = zones.zones[i];
    Measured<Lab> lab = fit.correction->lab(signals[i]);
    // Where the rim lies is known to about 0.15 mm at best (drawn twice, outlines differ by that),
    // and less well the less certain the outline is.
    const double rim_sd = 0.5 + (1 - zones.confidence);
    for (std::size_t r = 0; r < 3; ++r) {
      for (std::size_t c = 0; c < 3; ++c) {
        lab.random[r][c] += rim_sd * rim_sd * zone.rim_shift[r] * zone.rim_shift[c];
      }
    }
    readings.push_back(
        Reading{.label = label,
                .zone = zone.name,
                .lab = lab,
                .reflectance = std::nullopt,
                .viewing = fit.viewing,
                .count = static_cast<std::size_t>(
                    std::count(zone.mask.inside.begin(), zone.mask.inside.end(), 1)),
                .warnings = {},
                .provenance = make_provenance(
                    "read_zones", "zone=" + zone.name + detail::kind_setting(kind),
                    {photo.provenance.digest, fit.provenance.digest, zones.provenance.digest}),
                .kind = kind});
    detail::warn_of_unlikely_colour(fit, readings.back());
  }
  return readings;
}

}  // namespace mamelon
