#include "mamelon/error.h"
#include "mamelon/region.h"
#include "mamelon/shift.h"
#include "mamelon/solve.h"

#include "case/measure.h"

namespace mamelon {
namespace {

// The floor is no tooth: the region is read as it is, whatever its colour.
Reading floor_in_photo(const Case& given, const CaseFloor& floor, std::vector<std::string>& notes,
                       SolveMemory* memory) {
  if (!given.card && !given.kept_fit) {
    throw ArgumentError(
        "a floor in a photo needs the reference card that stands in it, or the kept fit of an "
        "earlier photo");
  }
  const auto decoded = decode(*floor.photo, memory);
  const Photo& photo = *decoded;
  // The tabs stand in the tooth's photo.
  const auto fitted = detail::fit_of(given, *floor.photo, photo, false, memory);
  const CardFit& fit = *fitted;
  notes.insert(notes.end(), photo.warnings.begin(), photo.warnings.end());
  notes.insert(notes.end(), fit.warnings.begin(), fit.warnings.end());
  if (floor.mask) detail::check_mask(*floor.mask, photo, "the floor's mask");
  return floor.mask ? read_region(photo, fit, *floor.mask, SurfaceKind::prepared_floor, "floor")
                    : read_region(photo, fit, *floor.box, SurfaceKind::prepared_floor, "floor");
}

Floor floor_on(const Grid& grid, const Case& given, const CaseFloor& floor,
               std::vector<std::string>& notes, SolveMemory* memory) {
  if (floor.reflectance) {
    const Grid& own = floor.reflectance->grid();
    if (own == grid) return {*floor.reflectance, {}, false, {}};
    if (own.first_nm > grid.first_nm || own.last_nm() < grid.last_nm()) {
      notes.emplace_back(
          "the floor's curve ends inside the pastes' range of wavelengths; its last value is held "
          "to the end");
    }
    return {resample(*floor.reflectance, grid, Interpolation::cubic, Extrapolation::hold),
            {},
            false,
            make_provenance("resample", canonical_text(grid),
                            {sha256_hex(canonical_text(*floor.reflectance))})};
  }
  const Reading reading =
      floor.colour ? *floor.colour : floor_in_photo(given, floor, notes, memory);
  Floor found = floor_of(reading, grid);
  if (found.estimated) {
    notes.emplace_back(
        "the floor was given as a colour: the smoothest reflectance of that colour stands in for "
        "its spectrum");
  }
  return found;
}

}  // namespace

PlanRequest request_of(const Case& given, std::vector<std::string>& notes, SolveMemory* memory) {
  if (!given.restoration) throw ArgumentError("the case has no restoration to plan");
  const Restoration& asked = *given.restoration;
  PlanRequest request{.target = {"", "", {}, {}, given.viewing, 1, {}, {}}};
  if (asked.after.empty()) {
    request.pastes = asked.pastes;
  } else {
    request.pastes = shifted(asked.pastes, asked.after, notes);
    notes.push_back("the colours of the plan are those after \"" + asked.after +
                    "\": each paste's shift, with its spread, is part of them");
  }
  request.depth_mm = asked.depths_mm.front();
  request.max_layers = asked.max_layers;
  request.thickness_sd_mm = asked.thickness_sd_mm;
  request.floor_refractive_index = asked.floor.refractive_index;
  request.specular_included = asked.floor.specular_included;
  request.role_order = asked.role_order;
  request.placing = asked.placing;
  request.weights = given.match.weights;
  for (const char* name : {"D65", "A", "LED-B3"}) {
    request.illuminants.push_back(standard_illuminant(name));
    request.illuminant_weights.push_back(0);
  }
  for (const WeighedLight& one : asked.also_under) {
    request.illuminants.push_back(one.light);
    request.illuminant_weights.push_back(one.weight);
  }
  Floor floor =
      floor_on(request.pastes.pastes.front().absorption.grid(), given, asked.floor, notes, memory);
  request.floor = std::move(floor.reflectance);
  request.floor_errors = std::move(floor.errors);
  request.floor_provenance = std::move(floor.provenance);
  return request;
}

CrosswalkReport solve_crosswalk(const Case& given, const SolveProgress& progress) {
  if (!given.tabs || !given.restoration) {
    throw ArgumentError("a table from tab to paste needs tabs and a restoration");
  }
  detail::step(progress, 0, "reading the floor");
  std::vector<std::string> notes;
  PlanRequest request = request_of(given, notes);
  detail::step(progress, 0.1, "planning for every tab");
  std::vector<CrosswalkRow> rows = crosswalk(*given.tabs, request, [&](double share) {
    return !progress || progress(0.1 + 0.9 * share, "planning for every tab");
  });
  return {*given.tabs, std::move(request), std::move(rows), std::move(notes)};
}

}  // namespace mamelon
