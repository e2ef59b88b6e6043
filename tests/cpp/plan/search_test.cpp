#include "plan/search.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <random>

#include <gtest/gtest.h>

#include "plan/bound.h"
#include "plan_samples.h"

namespace mamelon::detail {
namespace {

struct Question {
  PlanRequest request;
  Problem problem;
};

Question random_question(std::mt19937& random, std::size_t pastes, int layers) {
  std::uniform_real_distribution<double> uniform(0, 1);
  const Lab lab{62 + 22 * uniform(random), 5 * uniform(random), 8 + 20 * uniform(random)};
  PlanRequest request =
      test::sample_request(test::sample_set(pastes, static_cast<unsigned>(random())),
                           test::target_lab(lab), 0.9 + 0.7 * uniform(random));
  request.floor = test::flat_floor(0.05 + 0.4 * uniform(random));
  request.max_layers = layers;
  request.role_order = uniform(random) < 0.5;
  request.thickness_sd_mm = uniform(random) < 0.3 ? 0 : 0.15;
  request.illuminants = {standard_illuminant("A")};
  request.illuminant_weights = {uniform(random) < 0.5 ? 0.0 : 0.5};
  for (Paste& paste : request.pastes.pastes) {
    paste.minimum_mm = 0.2 + 0.1 * uniform(random);
    paste.reflectance_sd = 0.005 * uniform(random);
  }
  std::vector<std::string> warnings;
  Problem problem = make_problem(request, warnings);
  return {std::move(request), std::move(problem)};
}

// Every allowed stack with thicknesses on a grid of about 0.02 mm.
class BruteForce {
 public:
  explicit BruteForce(const Problem& problem)
      : problem_(problem),
        steps_(static_cast<int>(std::ceil(problem.depth_mm / 0.02))),
        step_mm_(problem.depth_mm / steps_) {}

  double best(std::size_t layers) {
    least_ = std::numeric_limits<double>::infinity();
    place({}, layers, steps_);
    return least_;
  }

 private:
  void place(const Candidate& below, std::size_t layers, int left) {
    for (std::size_t paste = 0; paste < problem_.materials.size(); ++paste) {
      if (!below.pastes.empty() && !may_follow(problem_, below.pastes.back(), paste)) {
        continue;
      }
      const bool last = below.pastes.size() + 1 == layers;
      for (int g = last ? left : 1; g <= left; ++g) {
        const double mm = g * step_mm_;
        const Material& m = problem_.materials[paste];
        if (mm < m.minimum_mm || mm > m.maximum_mm) {
          continue;
        }
        Candidate next = below;
        next.pastes.push_back(paste);
        next.thickness_mm.push_back(mm);
        if (last) {
          least_ = std::min(least_, expected_of(problem_, next));
        } else {
          place(next, layers, left - g);
        }
      }
    }
  }

  const Problem& problem_;
  int steps_;
  double step_mm_;
  double least_ = 0;
};

void expect_equal_to_brute_force(const Question& question, std::size_t layers) {
  const SearchResult found = search(question.problem, 1, true);
  double answer = std::numeric_limits<double>::infinity();
  double brute = answer;
  for (std::size_t n = 1; n <= layers; ++n) {
    brute = std::min(brute, BruteForce(question.problem).best(n));
    if (!found.best[n - 1].empty()) {
      answer = std::min(answer, found.best[n - 1].front().expected);
    }
  }
  if (!std::isfinite(brute)) {
    return;
  }
  // The answer may lie between grid points, so it can only be better; the bound says by how much.
  EXPECT_LE(answer, brute + 0.002);
  EXPECT_LE(found.bound, std::min(answer, brute) + 1e-9);
  EXPECT_GE(found.bound, answer - 0.01);
}

TEST(Search, TwoLayersEqualBruteForce) {
  std::mt19937 random(21);
  for (int i = 0; i < 170; ++i) {
    SCOPED_TRACE(i);
    expect_equal_to_brute_force(random_question(random, 4, 2), 2);
  }
}

TEST(Search, ThreeLayersEqualBruteForce) {
  std::mt19937 random(22);
  for (int i = 0; i < 40; ++i) {
    SCOPED_TRACE(i);
    expect_equal_to_brute_force(random_question(random, 3, 3), 3);
  }
}

TEST(Search, TheQuickModeFindsTheSame) {
  std::mt19937 random(23);
  for (int i = 0; i < 25; ++i) {
    SCOPED_TRACE(i);
    const Question question = random_question(random, 6, 3);
    const SearchResult quick = search(question.problem, 1, false);
    const SearchResult sure = search(question.problem, 1, true);
    EXPECT_EQ(quick.bound, 0);
    for (std::size_t n = 0; n < 3; ++n) {
      ASSERT_EQ(quick.best[n].empty(), sure.best[n].empty());
      if (!sure.best[n].empty()) {
        EXPECT_LE(quick.best[n].front().expected, sure.best[n].front().expected + 0.02);
      }
    }
  }
}

TEST(Search, BestSequencesComeInOrderAndDifferInAPaste) {
  std::mt19937 random(24);
  const SearchResult found = search(random_question(random, 10, 3).problem, 5, true);
  for (const std::vector<Candidate>& list : found.best) {
    for (std::size_t i = 1; i < list.size(); ++i) {
      EXPECT_GE(list[i].expected, list[i - 1].expected);
      for (std::size_t j = 0; j < i; ++j) {
        EXPECT_NE(list[i].pastes, list[j].pastes);
      }
    }
  }
}

TEST(Bounder, GridValuesAreTheObjective) {
  std::mt19937 random(25);
  for (int i = 0; i < 30; ++i) {
    const Question question = random_question(random, 4, 3);
    const Bounder bounder(question.problem, 1);
    Workspace room = bounder.workspace();
    const int steps = static_cast<int>(bounder.tables().steps);
    const Sequence sequence{3, {0, 2, 3}};
    const Steps at{steps / 3, steps - steps / 3 - steps / 4, steps / 4};
    Candidate candidate{{0, 2, 3}, {}, 0};
    for (const int s : at) {
      candidate.thickness_mm.push_back(s * bounder.step_mm());
    }
    const double expected = expected_of(question.problem, candidate);
    EXPECT_NEAR(bounder.unlimited_value(sequence, at, room), expected,
                2e-5 * (1 + expected * expected));
  }
}

TEST(Bounder, NothingInABoxLiesBelowItsBound) {
  std::mt19937 random(26);
  std::uniform_real_distribution<double> uniform(0, 1);
  int sharp = 0;
  for (int i = 0; i < 60; ++i) {
    const Question question = random_question(random, 6, 3);
    const Bounder bounder(question.problem, 1);
    Workspace room = bounder.workspace();
    const int steps = static_cast<int>(bounder.tables().steps);
    for (int n = 0; n < 40; ++n) {
      const std::size_t layers = 2 + random() % 2;
      const Sequence sequence{layers, {random() % 6, random() % 6, random() % 6}};
      Box box;
      const int width = 1 << (random() % 6);
      for (std::size_t axis = 0; axis + 1 < layers; ++axis) {
        box.low[axis] = static_cast<std::uint16_t>(uniform(random) * 0.6 * steps);
        box.high[axis] = static_cast<std::uint16_t>(std::min(steps, box.low[axis] + width));
      }
      if (!bounder.trim(sequence, box)) {
        continue;
      }
      const double bound = bounder.bound(sequence, box, 1e9, room).bound;
      double least = std::numeric_limits<double>::infinity();
      for (int k = 0; k < 60; ++k) {
        Steps at{};
        int left = steps;
        for (std::size_t axis = 0; axis + 1 < layers; ++axis) {
          const int span = box.high[axis] - box.low[axis];
          at[free_layer(axis)] =
              box.low[axis] + static_cast<int>(random() % (static_cast<unsigned>(span) + 1));
          left -= at[free_layer(axis)];
        }
        at[slack_layer(layers)] = left;
        least = std::min(least, bounder.value(sequence, at, room));
      }
      if (std::isfinite(least)) {
        EXPECT_LE(bound, least + 5e-4);
        sharp += bound > 0.9 * least ? 1 : 0;
      }
    }
  }
  // A bound of nothing would pass the above.
  EXPECT_GT(sharp, 200);
}

// What is cut off a wide box, or all of it, holds nothing below what was asked for.
TEST(Bounder, WhatIsCutOffAWideBoxIsWorseThanAsked) {
  std::mt19937 random(27);
  std::uniform_real_distribution<double> uniform(0, 1);
  int emptied = 0;
  int shrunk = 0;
  for (int i = 0; i < 80; ++i) {
    const Question question = random_question(random, 6, 3);
    const Bounder bounder(question.problem, 1);
    Workspace room = bounder.workspace();
    const int steps = static_cast<int>(bounder.tables().steps);
    for (int n = 0; n < 40; ++n) {
      const std::size_t layers = 2 + random() % 2;
      const Sequence sequence{layers, {random() % 6, random() % 6, random() % 6}};
      Box box;
      for (std::size_t axis = 0; axis + 1 < layers; ++axis) {
        box.low[axis] = static_cast<std::uint16_t>(uniform(random) * 0.4 * steps);
        box.high[axis] = static_cast<std::uint16_t>(
            std::min(steps, box.low[axis] + 21 + static_cast<int>(random() % 70)));
      }
      if (!bounder.trim(sequence, box)) {
        continue;
      }
      std::vector<std::pair<double, Steps>> values;
      for (int k = 0; k < 150; ++k) {
        Steps at{};
        int left = steps;
        for (std::size_t axis = 0; axis + 1 < layers; ++axis) {
          const auto span = static_cast<unsigned>(box.high[axis] - box.low[axis]);
          // Every third at an end, where a box has its least value more often than not.
          const auto share = random() % 6;
          at[free_layer(axis)] =
              box.low[axis] +
              static_cast<int>(share == 0 ? 0 : (share == 1 ? span : random() % (span + 1)));
          left -= at[free_layer(axis)];
        }
        at[slack_layer(layers)] = left;
        const double value = bounder.value(sequence, at, room);
        if (std::isfinite(value)) {
          values.emplace_back(value, at);
        }
      }
      if (values.empty()) {
        continue;
      }
      const double least = std::min_element(values.begin(), values.end())->first;
      for (int asked = 0; asked < 5; ++asked) {
        const double enough = least * (0.1 + uniform(random));
        const BoxValue looked = bounder.bound(sequence, box, enough, room);
        const bool empty = looked.empty || looked.bound >= enough;
        emptied += empty ? 1 : 0;
        shrunk += !empty && looked.inner != box ? 1 : 0;
        for (const auto& [value, at] : values) {
          bool inside = !empty;
          for (std::size_t axis = 0; axis + 1 < layers; ++axis) {
            inside = inside && at[free_layer(axis)] >= looked.inner.low[axis] &&
                     at[free_layer(axis)] <= looked.inner.high[axis];
          }
          EXPECT_TRUE(inside || value >= enough - bounder.rounding())
              << value << " below " << enough;
        }
      }
    }
  }
  EXPECT_GT(emptied, 200);
  EXPECT_GT(shrunk, 50);
}

}  // namespace
}  // namespace mamelon::detail
