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
// crowns are 2 to 5 mm thick (from memory), and both media stand in for their mixture. Scattering
// falls by about the wavelength's inverse.
struct Tooth {
  double reduced_scattering_per_mm;
  double thickness_mm;
};
constexpr std::array teeth{Tooth{0.7, 2.5}, Tooth{0.7, 4.5}, Tooth{1.4, 2.5},
                           Tooth{1.4, 4.5}, Tooth{2.8, 2.5}, Tooth{2.8, 4.5}};
constexpr double anisotropy = 0.9;
constexpr double index = 1.6;
constexpr double behind = 0.3;  // of the mouth, from inside

// L* of teeth (common practice, D65): a tooth that would have to be lighter than teeth are is an
// unlikely one.
constexpr double usual_lightness = 73;
constexpr double usual_lightness_sd = 6;

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

std::vector<double> widely(const Reflectance& read, const Tooth& tooth, const EdgeLoss& loss,
                           double gloss) {
  std::vector<double> out;
  for (std::size_t i = 0; i < read.size(); ++i) {
    const double scattering = tooth.reduced_scattering_per_mm * 550 / read.grid().wavelength_nm(i);
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
  std::vector<double> mean(read.size());
  std::vector<Vec3> changes;
  std::vector<double> chances;
  for (const Tooth& tooth : teeth) {
    const EdgeLoss loss(aperture, tooth.thickness_mm, false);
    if (loss.none()) return reading;
    std::vector<double> curve = widely(read, tooth, loss, gloss);
    const Lab after = to_lab(Reflectance(read.grid(), curve), reading.viewing);
    const double unusual = (after.l - usual_lightness) / usual_lightness_sd;
    chances.push_back(std::exp(-unusual * unusual / 2));
    for (std::size_t i = 0; i < mean.size(); ++i) mean[i] += chances.back() * curve[i];
    changes.push_back({after.l - before.l, after.a - before.a, after.b - before.b});
  }
  const double sum = std::accumulate(chances.begin(), chances.end(), 0.0);
  for (double& value : mean) value /= sum;
  Vec3 change{};
  for (std::size_t i = 0; i < changes.size(); ++i) {
    for (std::size_t k = 0; k < 3; ++k) change.at(k) += chances[i] / sum * changes[i].at(k);
  }
  Reading out = reading;
  Lab& lab = out.lab.value;
  lab = {lab.l + change[0], lab.a + change[1], lab.b + change[2]};
  // Six teeth stand for all.
  constexpr auto count = static_cast<double>(teeth.size());
  for (std::size_t i = 0; i < changes.size(); ++i) {
    for (std::size_t r = 0; r < 3; ++r) {
      for (std::size_t c = 0; c < 3; ++c) {
        out.lab.shared.at(r).at(c) += count / (count - 1) * chances[i] / sum *
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
