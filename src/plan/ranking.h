#pragma once
// From the search's sequences to plans: refined, ranked and described in the full engine.

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "plan/objective.h"
#include "plan/search.h"

namespace mamelon::detail {

// Asks a `Progress` and throws StoppedError where it says no.
class Watch {
 public:
  explicit Watch(const Progress& progress) : progress_(progress) {}
  void at(double share) {
    share_ = share;
    check();
  }
  void check() const {
    if (progress_ && !progress_(share_)) {
      throw StoppedError("the planning was stopped by its caller");
    }
  }

 private:
  const Progress& progress_;
  double share_ = 0;
};

// All that is made once for a request.
class Ranking {
 public:
  // `depths` in steps.
  Ranking(const Problem& problem, std::vector<int> depths);

  // The `keep` best sequences of so many layers over all depths, best first; with `nominal` those
  // of the least ΔE00 alone.
  [[nodiscard]] std::vector<Candidate> best(std::size_t layers, std::size_t keep, bool nominal,
                                            const Watch& watch);
  // The best steps of one sequence at each depth. Throws ModelError where its limits do not fill
  // one.
  [[nodiscard]] Candidate best_of(const std::vector<std::size_t>& pastes);
  // Whether some stack of up to `layers` pastes comes within acceptability, by ΔE00 alone, over
  // another floor where one is given.
  [[nodiscard]] bool is_feasible(std::size_t layers, const std::vector<double>* floor,
                                 const Watch& watch);

  // A candidate at one of the depths as a plan.
  [[nodiscard]] Plan plan_of(const Candidate& candidate, std::size_t depth = 0) const;
  // Whether stacks of three are made of some pastes only.
  [[nodiscard]] bool narrowed() const { return narrowed_; }

 private:
  [[nodiscard]] const Tables& tables(Engine engine);
  [[nodiscard]] std::vector<Engine> engines() const;
  [[nodiscard]] std::vector<bool> offered(std::size_t layers, const Watch& watch);
  // Moves the steps to the least goal of the tables, their colours put right by what the full
  // engine says of them at the steps so far, until the two agree (a defect correction, Stetter
  // 1978, Numer Math 29:425). The spread is the tables'.
  void correct(Candidate& candidate, bool nominal, int rounds);
  // Moves the steps to the least goal of the full engine itself, spread by the tables.
  void refine(Candidate& candidate, bool nominal);
  // The same, one step at a time, with every error in the full engine.
  void weigh(Candidate& candidate);

  const Problem& problem_;
  std::vector<int> depths_;
  Optics optics_;
  std::map<Engine, Tables> tables_;
  bool narrowed_ = false;
};

std::vector<double> thickness_of(const Problem& problem, const std::vector<int>& steps);

// A stack as a plan, thicknesses as given.
Plan describe(const Optics& optics, const std::vector<std::size_t>& pastes,
              const std::vector<double>& thickness_mm);

// Why no allowed plan is acceptable, and what would help; nothing where `best`, the recommended
// plan, is.
std::optional<OutOfReach> out_of_reach(const Problem& problem, Ranking& ranking, const Plan& best,
                                       const Watch& watch);

}  // namespace mamelon::detail
