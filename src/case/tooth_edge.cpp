#include "case/tooth_edge.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <vector>

#include "mamelon/stack.h"

#include "material/edge_loss.h"

namespace mamelon::detail {
namespace {

// What is not known of a tooth: reduced scattering at 550 nm and thickness. Enamel scatters by some
// 0.4 to 2 per mm (Fried et al. 1995, Zijp, ten Bosch and Groenhuis 1995), dentine by 2 to 5;
// crowns are 2 to 5 mm thick (from memory), and both media stand in for their mixture.
struct Tooth {
  double reduced_scattering_per_mm;
  double thickness_mm;
};
constexpr std::array teeth{Tooth{0.7, 2.5}, Tooth{0.7, 4.5}, Tooth{1.4, 2.5},
                           Tooth{1.4, 4.5}, Tooth{2.8, 2.5}, Tooth{2.8, 4.5}};
// Scattering falls by about the wavelength's inverse, more or less so.
constexpr std::array exponents{0.6, 1.4};
constexpr double anisotropy = 0.9;
constexpr double index = 1.6;
constexpr double behind = 0.3;  // of the mouth, from inside

// How light a tooth must be to be read as it was: about as light as all these make it on average.
// Teeth in general (L* of D65, 50 to 85 with hardly an exception) count for little beside it, or a
// dark one would be missed.
constexpr double own_spread = 6;
constexpr double usual_lightness = 71;
constexpr double usual_lightness_sd = 12;

// By two fluxes, near enough for what is lost: K = 2 µa, S = ¾ µs′.
double seen(double absorption, double scattering, double thickness_mm) {
  return to_measured(over(layer_optics(2 * absorption, 0.75 * scattering, thickness_mm), behind),
                     interface_of(index, false));
}

// The absorption under which a tooth reflects `wanted`; the least where none is little enough.
double absorption_for(double wanted, double scattering, double thickness_mm) {
  double low = std::log(1e-4);
  double high = std::log(50.0);
  constexpr int halvings = 40;
  for (int i = 0; i < halvings; ++i) {
    const double middle = (low + high) / 2;
    (seen(std::exp(middle), scattering, thickness_mm) > wanted ? low : high) = middle;
  }
  return std::exp(low);
}

std::vector<double> widely(const Reflectance& read, const Tooth& tooth, double exponent,
                           const EdgeLoss& loss, double gloss) {
  std::vector<double> out;
  for (std::size_t i = 0; i < read.size(); ++i) {
    const double scattering =
        tooth.reduced_scattering_per_mm * std::pow(550 / read.grid().wavelength_nm(i), exponent);
    const double within = std::max(0.0, read[i] - gloss);
    double whole = within;
    // What is lost depends on what there is.
    for (int turn = 0; turn < 4; ++turn) {
      const double absorption = absorption_for(whole, scattering, tooth.thickness_mm);
      const double lost =
          loss(tooth.thickness_mm, absorption, scattering, anisotropy, index, behind);
      whole = within / std::max(0.2, 1 - lost);
    }
    out.push_back(std::min(1.0, whole + gloss));
  }
  return out;
}

}  // namespace

Reading seen_widely(const Reading& reading, const Aperture& aperture, bool specular_included) {
  const Reflectance read =
      reading.reflectance
          ? *reading.reflectance
          : estimate_reflectance(reading.lab.value, reading.viewing, Grid{400, 10, 31});
  const double gloss = specular_included ? interface_of(index, true).k1 : 0;
  const Lab before = to_lab(read, reading.viewing);
  std::vector<std::vector<double>> curves;
  std::vector<Vec3> changes;
  for (const Tooth& tooth : teeth) {
    const EdgeLoss loss(aperture, tooth.thickness_mm, false);
    if (loss.none()) return reading;
    for (const double exponent : exponents) {
      curves.push_back(widely(read, tooth, exponent, loss, gloss));
      const Lab after = to_lab(Reflectance(read.grid(), curves.back()), reading.viewing);
      changes.push_back({after.l - before.l, after.a - before.a, after.b - before.b});
    }
  }
  double lighter = 0;
  for (const Vec3& one : changes) lighter += one[0] / static_cast<double>(changes.size());
  std::vector<double> chances;
  for (const Vec3& one : changes) {
    const double apart = (one[0] - lighter) / own_spread;
    const double unusual = (before.l + one[0] - usual_lightness) / usual_lightness_sd;
    chances.push_back(std::exp(-(apart * apart + unusual * unusual) / 2));
  }
  const double sum = std::accumulate(chances.begin(), chances.end(), 0.0);
  for (double& chance : chances) chance /= sum;
  std::vector<double> mean(read.size());
  Vec3 change{};
  for (std::size_t t = 0; t < changes.size(); ++t) {
    for (std::size_t i = 0; i < mean.size(); ++i) mean[i] += chances[t] * curves[t][i];
    for (std::size_t k = 0; k < 3; ++k) change.at(k) += chances[t] * changes[t].at(k);
  }
  Reading out = reading;
  Lab& lab = out.lab.value;
  lab = {lab.l + change[0], lab.a + change[1], lab.b + change[2]};
  // Few teeth stand for all.
  constexpr auto count = static_cast<double>(teeth.size());
  for (std::size_t i = 0; i < changes.size(); ++i) {
    for (std::size_t r = 0; r < 3; ++r) {
      for (std::size_t c = 0; c < 3; ++c) {
        out.lab.shared.at(r).at(c) += count / (count - 1) * chances[i] *
                                      (changes[i].at(r) - change.at(r)) *
                                      (changes[i].at(c) - change.at(c));
      }
    }
  }
  if (out.reflectance) out.reflectance = Reflectance(read.grid(), std::move(mean));
  out.provenance =
      make_provenance("seen_widely", canonical_text(aperture), {reading.provenance.digest});
  return out;
}

}  // namespace mamelon::detail
