#include "case/measure.h"

#include <algorithm>
#include <array>
#include <map>
#include <memory>
#include <string_view>
#include <utility>

#include "mamelon/error.h"

#include "base/find.h"
#include "case/teeth.h"

namespace mamelon::detail {
namespace {

std::vector<KnownSurface> surfaces_of(const Case& given) {
  if (given.tabs_in_photo.empty()) return {};
  check_same_viewing(given.tabs->viewing, given.viewing, "the tabs in the photo");
  std::vector<KnownSurface> surfaces;
  for (const TabInPhoto& one : given.tabs_in_photo) {
    const auto tab = detail::find_by(given.tabs->tabs, one.tab, &Tab::name);
    surfaces.push_back(
        {.name = one.tab, .box = one.box, .lab = tab->lab.value, .reflectance = tab->reflectance});
  }
  return surfaces;
}

void add(std::vector<std::string>& to, const std::vector<std::string>& from) {
  to.insert(to.end(), from.begin(), from.end());
}

// Repeats of one place (equal label and zone) become one reading, at the place of the first.
std::vector<Reading> combined(const std::vector<Reading>& readings) {
  std::map<std::pair<std::string_view, std::string_view>, std::size_t> places;
  std::vector<std::vector<Reading>> repeats;
  for (const Reading& reading : readings) {
    const auto [place, fresh] = places.try_emplace({reading.label, reading.zone}, repeats.size());
    if (fresh) repeats.emplace_back();
    repeats[place->second].push_back(reading);
  }
  std::vector<Reading> out;
  for (const auto& of_one : repeats) out.push_back(combine(of_one));
  return out;
}

// Whether a corner turns the same way at every side of the part's outline in the photo.
bool is_on(const CardFit& fit, const WhiteArea& part, PointPx at) {
  const std::array<PointPx, 4> corners = {
      to_px(fit, {part.x_mm, part.y_mm}), to_px(fit, {part.x_mm + part.width_mm, part.y_mm}),
      to_px(fit, {part.x_mm + part.width_mm, part.y_mm + part.height_mm}),
      to_px(fit, {part.x_mm, part.y_mm + part.height_mm})};
  int turns = 0;
  for (std::size_t i = 0; i < corners.size(); ++i) {
    const PointPx& a = corners[i];
    const PointPx& b = corners[(i + 1) % corners.size()];
    turns += (b.x - a.x) * (at.y - a.y) - (b.y - a.y) * (at.x - a.x) > 0 ? 1 : -1;
  }
  return turns == 4 || turns == -4;
}

// A mask is drawn by hand or by another program: part of it may lie on the card.
void check_off_card(const CardFit& fit, const Mask& mask, const std::string& name) {
  constexpr std::size_t looked_at = 40;  // rows, and pixels of each
  std::size_t inside = 0;
  std::size_t on_card = 0;
  const std::size_t rows = std::max<std::size_t>(1, mask.height / looked_at);
  const std::size_t columns = std::max<std::size_t>(1, mask.width / looked_at);
  for (std::size_t y = 0; y < mask.height; y += rows) {
    for (std::size_t x = 0; x < mask.width; x += columns) {
      if (mask.inside[y * mask.width + x] == 0) continue;
      ++inside;
      const PointPx at = {static_cast<double>(mask.x + x), static_cast<double>(mask.y + y)};
      on_card += std::any_of(fit.card_parts.begin(), fit.card_parts.end(),
                             [&](const WhiteArea& part) { return is_on(fit, part, at); })
                     ? 1U
                     : 0U;
    }
  }
  if (10 * on_card > inside) {
    throw ArgumentError("the mask of " + name +
                        " lies on the card; paint the tooth alone, and not what covers it");
  }
}

// Places in the photo as it was given, in the flipped one.
double flipped(double x, const Photo& photo) {
  return static_cast<double>(photo.width) - 1 - x;
}

void flip(BoxPx& box, const Photo& photo) {
  box.x = static_cast<double>(photo.width) - box.x - box.width;
}

void flip(Mask& mask, const Photo& photo) {
  mask.x = photo.width - mask.x - mask.width;
  for (std::size_t y = 0; y < mask.height; ++y) {
    const auto row = mask.inside.begin() + static_cast<std::ptrdiff_t>(y * mask.width);
    std::reverse(row, row + static_cast<std::ptrdiff_t>(mask.width));
  }
}

ToothHint flipped(ToothHint hint, const Photo& photo) {
  if (hint.point) hint.point->x = flipped(hint.point->x, photo);
  if (hint.box) flip(*hint.box, photo);
  if (hint.mask) flip(*hint.mask, photo);
  for (auto* points : {&hint.rim, &hint.inside, &hint.outside}) {
    for (PointPx& p : *points) p.x = flipped(p.x, photo);
  }
  return hint;
}

// A tooth that is a tab, or a tab's neighbour seen as one, would be compared with itself.
void check_apart(const Case& given, const Photo& photo, const Mask& tooth,
                 const std::string& name) {
  for (TabInPhoto one : given.tabs_in_photo) {
    if (given.photo->mirrored) flip(one.box, photo);
    const double x = one.box.x + one.box.width / 2 - static_cast<double>(tooth.x);
    const double y = one.box.y + one.box.height / 2 - static_cast<double>(tooth.y);
    if (x < 0 || y < 0 || x >= static_cast<double>(tooth.width) ||
        y >= static_cast<double>(tooth.height)) {
      continue;
    }
    if (tooth.inside[static_cast<std::size_t>(y) * tooth.width + static_cast<std::size_t>(x)] !=
        0) {
      throw ArgumentError("the box of tab \"" + one.tab + "\" lies on " + name +
                          "; draw it within the tab, and point at the tooth");
    }
  }
}

// Crossed polarisers also take the light that the surface scatters: a polarised reading lies below
// one that is not by up to about 1 % of white's light in every channel (an assumption of ours: a
// moist or polished surface scatters little beside its mirror reflection; no published figure was
// found). One that is compared with the other is uncertain by half of that.
void widen_for_polarisation(std::vector<Reading>& readings) {
  constexpr double of_white = 0.005;
  for (Reading& reading : readings) {
    const Xyz white = white_point(reading.viewing);
    Xyz brighter = to_xyz(reading.lab.value, white);
    brighter.x += of_white * white.x;
    brighter.y += of_white * white.y;
    brighter.z += of_white * white.z;
    const Lab moved = to_lab(brighter, white);
    const Lab& lab = reading.lab.value;
    const Vec3 step = {moved.l - lab.l, moved.a - lab.a, moved.b - lab.b};
    for (std::size_t r = 0; r < 3; ++r) {
      for (std::size_t c = 0; c < 3; ++c) reading.lab.shared[r][c] += step[r] * step[c];
    }
  }
}

void read_tooth(const Case& given, std::size_t i, Report& report) {
  const CaseTooth& tooth = given.teeth[i];
  ToothReport found{.name = tooth_name(given, i), .number = tooth.number};
  if (!tooth.readings.empty()) {
    found.readings = combined(tooth.readings);
  } else {
    ZoneOptions options;
    options.kind = tooth.number ? tooth_kind(*tooth.number)
                                : (given.posterior || given.from_above ? ToothKind::posterior
                                                                       : ToothKind::anterior);
    options.margin_mm = given.margin_mm;
    options.cervical_direction_deg = tooth.cervical_direction_deg;
    options.from_above = given.from_above;
    options.polarised = given.photo->polarised;
    if (tooth.at.mask) check_mask(*tooth.at.mask, *report.photo, "the mask of " + found.name);
    ToothHint at = tooth.at;
    if (given.photo->mirrored) {
      at = flipped(std::move(at), *report.photo);
      if (options.cervical_direction_deg) {
        options.cervical_direction_deg = 180 - *options.cervical_direction_deg;
      }
    }
    Zones zones = find_zones(*report.photo, *report.fit, at, options);
    check_apart(given, *report.photo, zones.tooth, found.name);
    if (tooth.at.mask && given.card) check_off_card(*report.fit, zones.tooth, found.name);
    found.readings = given.grid
                         ? read_grid(*report.photo, *report.fit, zones, given.grid->rows,
                                     given.grid->columns, found.name, tooth.kind)
                         : read_zones(*report.photo, *report.fit, zones, found.name, tooth.kind);
    if (given.tabs && given.tabs->polarised != given.photo->polarised) {
      widen_for_polarisation(found.readings);
    }
    add(report.notes, zones.warnings);
    const bool unasked = !at.point && !at.box && !at.mask && at.rim.empty() && at.inside.empty();
    if (given.photo->mirrored && unasked) {
      report.notes.emplace_back("places named here are those of the flipped photo");
    }
    found.zones = std::move(zones);
  }
  report.teeth.push_back(std::move(found));
}

std::vector<KnownSurface> surfaces_in(const Case& given, const Photo& photo, bool mirrored) {
  std::vector<KnownSurface> surfaces = surfaces_of(given);
  if (mirrored) {
    for (KnownSurface& surface : surfaces) flip(surface.box, photo);
  }
  return surfaces;
}

}  // namespace

void step(const SolveProgress& progress, double share, std::string_view what) {
  if (progress && !progress(share, what)) {
    throw StoppedError("stopped before " + std::string(what));
  }
}

void check_mask(const Mask& mask, const Photo& photo, const std::string& name) {
  if (mask.x == 0 && mask.y == 0 && mask.width == photo.width && mask.height == photo.height)
    return;
  throw ArgumentError(name + " is " + std::to_string(mask.width) + " × " +
                      std::to_string(mask.height) + " pixels, the photo " +
                      std::to_string(photo.width) + " × " + std::to_string(photo.height) +
                      "; give a mask of the photo's size");
}

namespace {

// As many photos as a case has beside a blank white: of the teeth and of the floor.
constexpr std::size_t most_kept = 2;

template <class T, class Make>
std::shared_ptr<const T> kept(SolveMemory::Kept<T>* memory, const std::string& key,
                              const Make& make) {
  if (memory == nullptr) return std::make_shared<const T>(make());
  for (const auto& [known, value] : *memory) {
    if (known == key) return value;
  }
  // The oldest goes before the new one comes: both at once may be more than there is room for.
  if (memory->size() >= most_kept) memory->erase(memory->begin());
  memory->emplace_back(key, std::make_shared<const T>(make()));
  return memory->back().second;
}

std::string key_of(const CasePhoto& photo) {
  return photo.file.sha256() + (photo.camera_rendering ? "r" : "") + (photo.mirrored ? "m" : "");
}

// What the fit of a case's card, or of tabs in the photo, is made from beside the photo.
Case fitted_by(const Case& given, bool with_tabs) {
  Case asked{.viewing = given.viewing,
             .lights = given.lights,
             .card = given.card,
             .blank_white = given.blank_white,
             .kept_fit = given.kept_fit,
             .drift = given.drift,
             .px_per_mm = given.px_per_mm,
             .method = given.method,
             .corners_px = given.corners_px,
             .exclude = given.exclude};
  if (with_tabs && !given.tabs_in_photo.empty()) {
    asked.tabs_in_photo = given.tabs_in_photo;
    asked.tabs = given.tabs;
  }
  return asked;
}

CardFit fitted(const Case& given, const Photo& photo, bool with_tabs) {
  const bool flip = given.photo && given.photo->mirrored && with_tabs;
  if (given.kept_fit) {
    LaterFitOptions options{.drift = given.drift, .px_per_mm = given.px_per_mm};
    if (with_tabs) options.surfaces = surfaces_in(given, photo, flip);
    return fit_later(photo, *given.kept_fit, given.viewing, options);
  }
  if (!given.card) {
    return fit_surfaces(photo, surfaces_in(given, photo, flip), given.viewing,
                        {.px_per_mm = given.px_per_mm});
  }
  CardFitOptions options;
  options.method = given.method;
  options.corners_px = given.corners_px;
  if (flip && options.corners_px) {
    auto& corners = *options.corners_px;
    for (PointPx& p : corners) p.x = flipped(p.x, photo);
    std::swap(corners[0], corners[1]);
    std::swap(corners[2], corners[3]);
  }
  options.exclude = given.exclude;
  if (with_tabs) options.surfaces = surfaces_in(given, photo, flip);
  if (given.blank_white) {
    options.blank_white = decode(*given.blank_white);
  }
  return fit_card(photo, *given.card, given.viewing, options);
}

}  // namespace

std::shared_ptr<const CardFit> fit_of(const Case& given, const CasePhoto& file, const Photo& photo,
                                      bool with_tabs, SolveMemory* memory) {
  const Case asked = fitted_by(given, with_tabs);
  const std::string key = key_of(file) + digest_of(asked);
  return kept<CardFit>(memory != nullptr ? &memory->fits : nullptr, key,
                       [&] { return fitted(given, photo, with_tabs); });
}

void measure(const Case& given, const SolveProgress& progress, Report& report,
             SolveMemory* memory) {
  const bool from_photo = std::any_of(given.teeth.begin(), given.teeth.end(),
                                      [](const CaseTooth& t) { return t.readings.empty(); });
  if (from_photo) {
    step(progress, 0, "reading the photo");
    report.photo = *decode(*given.photo, memory);
    step(progress, 0.2, "finding the card");
    report.fit = *fit_of(given, *given.photo, *report.photo, true, memory);
    Case photographed = fitted_by(given, true);
    photographed.photo = given.photo;
    photographed.teeth.emplace_back();  // one to be found: no case is without
    // Names of photos may be a patient's.
    photographed.photo->source = CasePhoto{}.source;
    report.photographed = std::make_shared<const Case>(std::move(photographed));
    add(report.notes, report.photo->warnings);
    add(report.notes, report.fit->warnings);
    if (given.tabs && given.tabs->polarised != given.photo->polarised) {
      report.notes.emplace_back(
          given.photo->polarised
              ? "the photo was taken through crossed polarisers and the tabs were not read so: the "
                "interval is wider; read the tabs so too, and say \"polarised\": true in their file"
              : "the tabs were read through crossed polarisers and the photo was not taken so: the "
                "interval is wider; take the photo so too");
    }
  }
  for (std::size_t i = 0; i < given.teeth.size(); ++i) {
    const double share = static_cast<double>(i) / static_cast<double>(given.teeth.size());
    step(progress, 0.5 + 0.2 * share, "finding and reading the tooth");
    read_tooth(given, i, report);
  }
}

}  // namespace mamelon::detail

namespace mamelon {

std::shared_ptr<const Photo> decode(const CasePhoto& photo, SolveMemory* memory) {
  const PhotoOptions options{.camera_rendering = photo.camera_rendering,
                             .mirrored = photo.mirrored};
  return detail::kept<Photo>(
      memory != nullptr ? &memory->photos : nullptr, detail::key_of(photo),
      [&] { return decode_photo(photo.file.bytes(), photo.source, options); });
}

PhotoWithFit fit_photo(const Case& given, SolveMemory* memory) {
  if (!given.photo) throw ArgumentError("the case has no photo");
  detail::check_has_card(given);
  const auto photo = decode(*given.photo, memory);
  return {photo, detail::fit_of(given, *given.photo, *photo, true, memory)};
}

}  // namespace mamelon
