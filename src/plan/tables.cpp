#include "plan/tables.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "material/one_stream.h"
#include "plan/objective.h"
#include "shade/sample.h"

namespace mamelon::detail {
namespace {

// The bands of the tables stand about so far apart: reflectances of pastes are smooth.
constexpr double band_width_nm = 20;
// As many lanes as the widest vector has.
constexpr std::size_t most_lanes = 16;
constexpr int transport_streams = 4;

// Weights on picked bands that integrate as `fine` on all: each band's weight goes to the four
// picked ones about it by Lagrange's cubic.
std::vector<double> gathered(const std::vector<double>& fine,
                             const std::vector<std::size_t>& picked) {
  std::vector<double> coarse(picked.size());
  const std::size_t points = std::min<std::size_t>(4, picked.size());
  for (std::size_t i = 0; i < fine.size(); ++i) {
    const auto above = static_cast<std::size_t>(std::upper_bound(picked.begin(), picked.end(), i) -
                                                picked.begin());
    const std::size_t first =
        std::min(above > points / 2 ? above - points / 2 : 0, picked.size() - points);
    for (std::size_t a = first; a < first + points; ++a) {
      double share = fine[i];
      for (std::size_t b = first; b < first + points; ++b) {
        if (b != a) {
          share *= (static_cast<double>(i) - static_cast<double>(picked[b])) /
                   (static_cast<double>(picked[a]) - static_cast<double>(picked[b]));
        }
      }
      coarse[a] += share;
    }
  }
  return coarse;
}

std::vector<double> taken(const std::vector<double>& values,
                          const std::vector<std::size_t>& picked) {
  std::vector<double> some;
  for (const std::size_t i : picked) some.push_back(values[i]);
  return some;
}

}  // namespace

Tables::Tables(const Problem& problem, Engine engine, int steps)
    : problem_(problem),
      engine_(engine),
      steps_(static_cast<std::size_t>(steps)),
      floor_(problem.floor) {
  pick_bands();
  const std::size_t pastes = problem.materials.size();
  lanes_ = (pastes + most_lanes - 1) / most_lanes * most_lanes;
  std::vector<std::size_t> by_role(pastes);
  std::iota(by_role.begin(), by_role.end(), std::size_t{0});
  std::stable_sort(by_role.begin(), by_role.end(), [&](std::size_t a, std::size_t b) {
    return problem.materials[a].role < problem.materials[b].role;
  });
  lane_.resize(pastes);
  for (std::size_t lane = 0; lane < pastes; ++lane) lane_[by_role[lane]] = lane;
  for (std::size_t lower = 0; lower < pastes; ++lower) {
    std::size_t first = lanes_;
    for (std::size_t upper = 0; upper < pastes; ++upper) {
      if (may_follow(problem, lower, upper)) first = std::min(first, lane_[upper]);
    }
    first_lane_.push_back(first - first % most_lanes);
  }
  rows_.resize(pastes * (steps_ + 2) * rows * bands_);
  for (std::size_t paste = 0; paste < pastes; ++paste) {
    const Material& m = problem.materials[paste];
    known_.push_back(engine == Engine::kubelka_munk || m.transport);
    deepest_.push_back(std::min(steps, m.most_steps + beyond_limit));
    if (known_.back()) fill(paste);
  }
  fill_top();
}

void Tables::pick_bands() {
  const Grid& grid = problem_.request->floor.grid();
  const auto seen = [&](std::size_t i) {
    return std::any_of(problem_.views.begin(), problem_.views.end(), [&](const View& view) {
      return view.weights->x[i] != 0 || view.weights->y[i] != 0 || view.weights->z[i] != 0;
    });
  };
  std::size_t first = 0;
  std::size_t last = grid.count - 1;
  while (first + 4 < last && !seen(first)) ++first;
  while (last > first + 4 && !seen(last)) --last;
  auto apart =
      std::max<std::size_t>(1, static_cast<std::size_t>(std::lround(band_width_nm / grid.step_nm)));
  apart = std::max(apart, (last - first) / (most_bands - 2) + 1);
  if ((last - first) / apart < 3) apart = 1;
  for (std::size_t i = first; i <= last; i += apart) picked_.push_back(i);
  if (picked_.back() != last) picked_.push_back(last);
  bands_ = picked_.size();
  for (const View& view : problem_.views) {
    views_.push_back({gathered(view.weights->x, picked_), gathered(view.weights->y, picked_),
                      gathered(view.weights->z, picked_), lower_root(view.metric)});
  }
}

void Tables::fill(std::size_t paste) {
  const Paste& given = problem_.request->pastes.pastes[paste];
  const bool transport = engine_ == Engine::transport;
  const std::vector<double> absorption =
      taken(transport ? given.transport->absorption.values() : given.absorption.values(), picked_);
  const std::vector<double> scattering =
      taken(transport ? given.transport->reduced_scattering.values() : given.scattering.values(),
            picked_);
  const Ordinates ordinates(transport_streams, given.refractive_index);
  Modes modes;
  if (transport) {
    modes = modes_of(ordinates, absorption, scattering, given.transport->anisotropy);
  }
  for (int s = 0; s <= deepest_[paste] + 1; ++s) {
    const double mm = s * problem_.request->step_mm;
    OneStream one =
        transport ? one_stream_of(ordinates, ModesLayer{&modes, mm})
                  : one_stream_of(absorption, scattering, mm, problem_.materials[paste].surface);
    for (std::size_t i = 0; i < bands_; ++i) {
      one.black[i] += transport && problem_.request->specular_included ? ordinates.k1 : 0;
      one.gain[i] -= one.black[i] * one.back[i];
    }
    double* to =
        rows_.data() + (paste * (steps_ + 2) + static_cast<std::size_t>(s)) * rows * bands_;
    for (const auto* values :
         {&one.reflected, &one.transmitted, &one.black, &one.gain, &one.back}) {
      to = std::copy(values->begin(), values->end(), to);
    }
  }
}

void Tables::fill_top() {
  top_.resize((steps_ + 1) * bands_ * top_rows * lanes_);
  const double across_mm = 2 * problem_.request->step_mm;
  for (std::size_t paste = 0; paste < known_.size(); ++paste) {
    for (int s = 1; known_[paste] && s <= deepest_[paste]; ++s) {
      float* to =
          top_.data() + static_cast<std::size_t>(s) * bands_ * top_rows * lanes_ + lane_[paste];
      for (std::size_t i = 0; i < bands_; ++i) {
        for (const Row which : {black, gain, back}) {
          to[(i * top_rows + which - black) * lanes_] = static_cast<float>(row(paste, s, which)[i]);
          to[(i * top_rows + which - black + 3) * lanes_] = static_cast<float>(
              (row(paste, s + 1, which)[i] - row(paste, s - 1, which)[i]) / across_mm);
        }
      }
    }
  }
}

void Tables::start(Below& below) const {
  below.layers = 0;
  below.rho = taken(floor_, picked_);
  below.slope.clear();
  for (const std::vector<double>& error : problem_.floor_errors) {
    below.slope.push_back(taken(error, picked_));
  }
}

// The slopes of the layers stand before those of the floor's errors, the newest layer last.
void Tables::add(Below& below, std::size_t paste, int steps) const {
  const double* r = row(paste, steps, reflected);
  const double* t = row(paste, steps, transmitted);
  const double across_mm = 2 * problem_.request->step_mm;
  std::vector<double> own(bands_);
  for (std::size_t i = 0; i < bands_; ++i) {
    const double rho = below.rho[i];
    const double escape = 1 / (1 - r[i] * rho);
    const double through = t[i] * escape;
    const double dr =
        (row(paste, steps + 1, reflected)[i] - row(paste, steps - 1, reflected)[i]) / across_mm;
    const double dt =
        (row(paste, steps + 1, transmitted)[i] - row(paste, steps - 1, transmitted)[i]) / across_mm;
    for (std::vector<double>& slope : below.slope) slope[i] *= through * through;
    own[i] = dr * (1 + through * through * rho * rho) + 2 * through * rho * dt;
    below.rho[i] = r[i] + t[i] * through * rho;
  }
  below.slope.insert(below.slope.begin() + below.layers, std::move(own));
  ++below.layers;
}

Tables::Value Tables::value(const std::vector<std::size_t>& pastes, const std::vector<int>& steps,
                            const std::vector<Vec3>& shift, std::vector<Lab>* labs) const {
  Below below;
  start(below);
  for (std::size_t j = 0; j + 1 < pastes.size(); ++j) add(below, pastes[j], steps[j]);
  const std::size_t top_paste = pastes.back();
  const int top_steps = steps.back();
  const double across_mm = 2 * problem_.request->step_mm;
  std::vector<double> shown(bands_);
  std::vector<double> top_slope(bands_);
  for (std::size_t i = 0; i < bands_; ++i) {
    const auto slope = [&](Row which) {
      return (row(top_paste, top_steps + 1, which)[i] - row(top_paste, top_steps - 1, which)[i]) /
             across_mm;
    };
    const double rho = below.rho[i];
    const double share = row(top_paste, top_steps, back)[i];
    const double escape = 1 / (1 - share * rho);
    const double up = row(top_paste, top_steps, gain)[i];
    shown[i] = (row(top_paste, top_steps, black)[i] + up * rho) * escape;
    const double per_rho = (up + share * shown[i]) * escape;
    top_slope[i] = (slope(black) + slope(gain) * rho + slope(back) * rho * shown[i]) * escape;
    for (std::vector<double>& column : below.slope) column[i] *= per_rho;
  }
  // The newest layer's slope last among the layers', before the floor's.
  below.slope.insert(below.slope.begin() + below.layers, std::move(top_slope));
  const auto layers = static_cast<std::size_t>(below.layers) + 1;

  const double sd = model_sd(problem_, pastes);
  Value value;
  for (std::size_t v = 0; v < views_.size(); ++v) {
    const View& view = problem_.views[v];
    if (view.weight == 0) continue;
    const ViewValue seen =
        first_order(problem_, view, integrate(shown, views_[v]), integrate(below.slope, views_[v]),
                    layers, sd, shift.empty() ? Vec3{} : shift[v]);
    if (labs != nullptr) (*labs)[v] = seen.lab;
    value.nominal_ms += view.weight * seen.de00 * seen.de00;
    value.spread_ms += view.weight * seen.spread_ms;
  }
  return value;
}

}  // namespace mamelon::detail
