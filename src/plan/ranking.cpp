#include "plan/ranking.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

#include "mamelon/appearance.h"

#include "base/find.h"
#include "base/numbers.h"
#include "colour/vectors.h"

namespace mamelon::detail {
namespace {

// Of more pastes than this, stacks of three are made of those that serve best in stacks of two.
constexpr std::size_t most_in_threes = 64;
// Candidates that are weighed with every error before the order is final.
constexpr std::size_t reserve = 4;
// A candidate is corrected again where its goal lies within this of the last to keep.
constexpr double worth_correcting = 0.4;
// A candidate's steps move in the full engine where its goal lies within this of the last to keep.
constexpr double worth_moving = 0.12;
constexpr int confirming_streams = 8;

void sort_by_goal(std::vector<Candidate>& candidates) {
  detail::stable_sort_by(candidates, &Candidate::expected);
}

// Sets the steps at each depth by `best`, which returns the mean square they come to.
template <class Best>
void at_every_depth(Candidate& candidate, const Best& best) {
  double sum = 0;
  for (std::vector<int>& steps : candidate.steps) sum += best(steps);
  candidate.expected = std::sqrt(sum / static_cast<double>(candidate.steps.size()));
}

double kept(const std::vector<Candidate>& sorted, std::size_t keep) {
  return sorted.size() < keep ? std::numeric_limits<double>::infinity() : sorted[keep - 1].expected;
}

std::optional<ContactWall> contact_wall(const Optics& optics, std::size_t paste, double height_mm) {
  const Problem& problem = optics.problem();
  const PlanRequest& request = *problem.request;
  if (!request.placing.contact_wall) return {};
  const View& own = problem.views.front();
  const Reflectance seen(request.floor.grid(), optics.seen(problem.floor, {paste}, {height_mm}));
  const Lab lab = to_lab(seen, own.viewing);
  return ContactWall{request.pastes.pastes[paste].name,
                     height_mm,
                     request.placing.contact_wall_width_mm,
                     {own.viewing, lab, own.target, de00(own.target, lab, request.weights)}};
}

}  // namespace

Ranking::Ranking(const Problem& problem, std::vector<int> depths)
    : problem_(problem), depths_(std::move(depths)), optics_(problem) {}

const Tables& Ranking::tables(Engine engine) {
  const int deepest = *std::max_element(depths_.begin(), depths_.end());
  return tables_.try_emplace(engine, problem_, engine, deepest).first->second;
}

std::vector<Engine> Ranking::engines() const {
  const auto known = std::count_if(problem_.materials.begin(), problem_.materials.end(),
                                   [](const Material& m) { return m.transport; });
  std::vector<Engine> engines;
  if (known > 0) engines.push_back(Engine::transport);
  if (known < static_cast<std::ptrdiff_t>(problem_.materials.size())) {
    engines.push_back(Engine::kubelka_munk);
  }
  return engines;
}

std::vector<bool> Ranking::offered(std::size_t layers, const Watch& watch) {
  const std::size_t pastes = problem_.materials.size();
  if (layers < 3 || pastes <= most_in_threes) return std::vector<bool>(pastes, true);
  narrowed_ = true;
  std::vector<bool> some(pastes, false);
  std::size_t taken = 0;
  for (std::size_t keep = most_in_threes; taken < most_in_threes && keep <= pastes * pastes;
       keep *= 4) {
    for (const Candidate& pair : best(2, keep, false, watch)) {
      for (const std::size_t paste : pair.pastes) {
        if (taken == most_in_threes) break;
        taken += some[paste] ? 0 : 1;
        some[paste] = true;
      }
    }
  }
  return some;
}

void Ranking::correct(Candidate& candidate, bool nominal, int rounds) {
  const Tables& picture = tables(engine_of(problem_, candidate.pastes));
  std::vector<Lab> pictured(problem_.views.size());
  std::vector<Vec3> shift(problem_.views.size());
  at_every_depth(candidate, [&](std::vector<int>& best) {
    std::vector<int> steps = best;
    double least = std::numeric_limits<double>::infinity();
    for (int round = 0;; ++round) {
      const std::vector<Lab> seen =
          colours(optics_, candidate.pastes, thickness_of(problem_, steps));
      const double spread = picture.value(candidate.pastes, steps, {}, &pictured).spread_ms;
      const double value = (nominal ? 0 : spread) + nominal_ms(problem_, seen);
      for (std::size_t v = 0; v < seen.size(); ++v) shift[v] = minus(seen[v], pictured[v]);
      const bool same = round > 0 && steps == best;
      if (value < least) {
        least = value;
        best = steps;
      }
      if (same || round == rounds) return least;
      descend(problem_, candidate.pastes, steps, [&](const std::vector<int>& at) {
        return picture.value(candidate.pastes, at, shift).mean_square(nominal);
      });
    }
  });
}

void Ranking::refine(Candidate& candidate, bool nominal) {
  const Tables& picture = tables(engine_of(problem_, candidate.pastes));
  at_every_depth(candidate, [&](std::vector<int>& steps) {
    return descend(problem_, candidate.pastes, steps, [&](const std::vector<int>& at) {
      const double spread = nominal ? 0 : picture.value(candidate.pastes, at).spread_ms;
      return nominal_ms(problem_, colours(optics_, candidate.pastes, thickness_of(problem_, at))) +
             spread;
    });
  });
}

void Ranking::weigh(Candidate& candidate) {
  const Weighing weighing(optics_, candidate.pastes);
  at_every_depth(candidate, [&](std::vector<int>& steps) {
    const auto mean_square = [&](const std::vector<int>& at) {
      const double goal = weighing.at(thickness_of(problem_, at)).expected;
      return goal * goal;
    };
    return descend(problem_, candidate.pastes, steps, mean_square, problem_.request->step_mm);
  });
}

std::vector<Candidate> Ranking::best(std::size_t layers, std::size_t keep, bool nominal,
                                     const Watch& watch) {
  const std::vector<bool> pastes = offered(layers, watch);
  std::vector<Candidate> candidates;
  for (const Engine engine : engines()) {
    const std::vector<Candidate> found =
        search(tables(engine), layers, depths_, keep, nominal, pastes, [&] { watch.check(); });
    candidates.insert(candidates.end(), found.begin(), found.end());
  }
  // Those whose goal lies within so much of the last to keep go on.
  const auto improve = [&](double within, const auto& step) {
    const double enough = kept(candidates, keep) + within;
    for (Candidate& candidate : candidates) {
      if (candidate.expected > enough) break;
      watch.check();
      step(candidate);
    }
    sort_by_goal(candidates);
  };
  constexpr double all = std::numeric_limits<double>::infinity();
  improve(all, [&](Candidate& candidate) { correct(candidate, nominal, 1); });
  improve(worth_correcting, [&](Candidate& candidate) { correct(candidate, nominal, 2); });
  improve(worth_moving, [&](Candidate& candidate) { refine(candidate, nominal); });
  if (!nominal) {
    candidates.resize(std::min(candidates.size(), keep + reserve));
    improve(all, [&](Candidate& candidate) { weigh(candidate); });
  }
  candidates.resize(std::min(candidates.size(), keep));
  return candidates;
}

Candidate Ranking::best_of(const std::vector<std::size_t>& pastes) {
  const Tables& picture = tables(engine_of(problem_, pastes));
  Candidate candidate{pastes, {}, 0};
  for (const int depth : depths_) {
    const int share = depth / static_cast<int>(pastes.size());
    std::vector<int> best;
    double least = std::numeric_limits<double>::infinity();
    // Downhill from an even split and from each layer thin in turn.
    for (std::size_t thin = 0; thin <= pastes.size(); ++thin) {
      std::vector<int> start(pastes.size(), share);
      if (thin < pastes.size()) start[thin] = 1;
      std::vector<int> steps = settled(problem_, pastes, start, depth);
      if (steps.empty()) {
        throw ModelError("the limits of these pastes do not fill a depth of " +
                         format_short(mm_of(problem_, depth)) + " mm");
      }
      const double goal = descend(problem_, pastes, steps, [&](const auto& at) {
        return std::sqrt(picture.value(pastes, at).mean_square(false));
      });
      if (goal < least) {
        least = goal;
        best = std::move(steps);
      }
    }
    candidate.steps.push_back(std::move(best));
  }
  correct(candidate, false, 3);
  refine(candidate, false);
  weigh(candidate);
  return candidate;
}

bool Ranking::is_feasible(std::size_t layers, const std::vector<double>* floor,
                          const Watch& watch) {
  for (const Engine engine : engines()) {
    Tables picture = tables(engine);
    if (floor != nullptr) picture.set_floor(*floor);
    for (std::size_t n = 1; n <= layers; ++n) {
      const std::vector<Candidate> found =
          search(picture, n, depths_, 1, true, offered(n, watch), [&] { watch.check(); });
      if (!found.empty() && found.front().expected <= threshold::acceptable_de00) return true;
    }
  }
  return false;
}

Plan Ranking::plan_of(const Candidate& candidate, std::size_t depth) const {
  return describe(optics_, candidate.pastes, thickness_of(problem_, candidate.steps[depth]));
}

std::vector<double> thickness_of(const Problem& problem, const std::vector<int>& steps) {
  std::vector<double> thickness_mm;
  for (const int n : steps) thickness_mm.push_back(mm_of(problem, n));
  return thickness_mm;
}

Plan describe(const Optics& optics, const std::vector<std::size_t>& pastes,
              const std::vector<double>& thickness_mm) {
  const Problem& problem = optics.problem();
  const PlanRequest& request = *problem.request;
  const Evaluation found = Weighing(optics, pastes).at(thickness_mm);
  const ViewValue& own = found.views.front();
  Plan plan;
  plan.engine = engine_of(problem, pastes);
  Stack stack{Reflectance(request.floor.grid(), problem.floor), {}, request.specular_included};
  for (std::size_t j = 0; j < pastes.size(); ++j) {
    const Paste& paste = request.pastes.pastes[pastes[j]];
    constexpr double rounding_mm = 1e-9;
    plan.layers.push_back({paste.name, paste.role, thickness_mm[j],
                           0.1 * length(problem.views.front().metric, own.per_mm[j]),
                           paste.extrapolates(thickness_mm[j], rounding_mm)});
    stack.layers.push_back({paste, thickness_mm[j]});
  }
  plan.increments = increments_of(stack.layers, request.placing);
  for (std::size_t v = 0; v < problem.views.size(); ++v) {
    const View& view = problem.views[v];
    plan.predicted.push_back({view.viewing, found.views[v].lab, view.target, found.views[v].de00});
    plan.metamerism = std::max(plan.metamerism, found.views[v].de00 - own.de00);
  }
  plan.reflectance = Reflectance(request.floor.grid(), found.reflectance);
  plan.de00 = own.de00;
  const Spread spread = spread_of(optics, pastes, thickness_mm, found);
  plan.de00_rms = spread.rms;
  plan.de00_p95 = spread.p95;
  plan.sampled = spread.sampled;
  plan.de00_confirmed = own.de00;
  if (plan.engine == Engine::transport) {
    const View& view = problem.views.front();
    plan.de00_confirmed = de00(
        view.target, to_lab(predict(stack, Engine::transport, confirming_streams), view.viewing),
        request.weights);
  }
  plan.contact_wall = contact_wall(optics, pastes.back(),
                                   std::accumulate(thickness_mm.begin(), thickness_mm.end(), 0.0));
  return plan;
}

}  // namespace mamelon::detail
