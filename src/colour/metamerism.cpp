#include "mamelon/appearance.h"
#include "mamelon/error.h"

namespace mamelon {
namespace {

Metamerism under(const Reflectance& reference, const Reflectance& sample, const Viewing& matched,
                 const Viewing& viewing, const DifferenceFormula& formula) {
  const Xyz matched_white = white_point(matched);
  const Xyz white = white_point(viewing);
  const Xyz r = to_xyz(reference, matched);
  const Xyz s = to_xyz(sample, matched);
  const Xyz r_there = to_xyz(reference, viewing);
  const Xyz s_there = to_xyz(sample, viewing);
  if (!(s.x > 0 && s.y > 0 && s.z > 0))
    throw ArgumentError("a metamerism index needs a sample that is not black under " +
                        to_string(matched));
  const Xyz scaled{s_there.x * (r.x / s.x), s_there.y * (r.y / s.y), s_there.z * (r.z / s.z)};
  const Xyz moved{s_there.x + (r.x - s.x), s_there.y + (r.y - s.y), s_there.z + (r.z - s.z)};
  const Lab there = to_lab(r_there, white);
  return {.viewing = viewing,
          .residual = difference(to_lab(r, matched_white), to_lab(s, matched_white), formula),
          .uncorrected = difference(there, to_lab(s_there, white), formula),
          .multiplicative = difference(there, to_lab(scaled, white), formula),
          .additive = difference(there, to_lab(moved, white), formula)};
}

}  // namespace

std::vector<Metamerism> special_metamerism(const Reflectance& reference, const Reflectance& sample,
                                           const Illuminant& reference_light,
                                           std::span<const Illuminant> lights,
                                           const DifferenceFormula& formula) {
  if (reference.grid() != sample.grid())
    throw ArgumentError(
        "a metamerism index needs both reflectances on one grid; resample one of them");
  if (lights.empty()) throw ArgumentError("a metamerism index needs at least one light");
  std::vector<Metamerism> indices;
  for (const Observer observer : {Observer::deg2, Observer::deg10})
    for (const Illuminant& light : lights)
      indices.push_back(
          under(reference, sample, {reference_light, observer}, {light, observer}, formula));
  return indices;
}

}  // namespace mamelon
