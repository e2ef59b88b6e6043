#include "plan/direction_look.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <random>

#include <gtest/gtest.h>

#include "plan/small_algebra.h"
#include "plan_samples.h"

namespace mamelon::detail {
namespace {

struct Ways {
  Ground ground;
  Slopes slopes;
};

Ways random_ways(std::mt19937& random) {
  std::uniform_real_distribution<double> uniform(-1, 1);
  std::uniform_int_distribution<int> steps(0, 14);
  Ways ways;
  ways.ground.axes = 1 + static_cast<std::size_t>(random() % 2);
  int least = 0;
  int greatest = 0;
  for (std::size_t axis = 0; axis < ways.ground.axes; ++axis) {
    ways.ground.low[axis] = steps(random);
    ways.ground.high[axis] = ways.ground.low[axis] + steps(random);
    least += ways.ground.low[axis];
    greatest += ways.ground.high[axis];
    const double a = uniform(random);
    const double b = uniform(random);
    ways.slopes.least[axis] = std::min(a, b);
    ways.slopes.greatest[axis] = std::max(a, b);
  }
  ways.ground.least_sum = least + steps(random) % (greatest - least + 1);
  ways.ground.greatest_sum =
      ways.ground.least_sum + steps(random) % (greatest - ways.ground.least_sum + 1);
  return ways;
}

// The least that a function with these slopes may have gained at a point.
double least_gain(const Slopes& slopes, std::size_t axes, const GroundPoint& from,
                  const GroundPoint& to) {
  double gain = 0;
  for (std::size_t axis = 0; axis < axes; ++axis) {
    const int way = to[axis] - from[axis];
    gain += std::min(slopes.least[axis] * way, slopes.greatest[axis] * way);
  }
  return gain;
}

template <class Visit>
void for_points(const Ground& ground, const Visit& visit) {
  for (int i = ground.low[0]; i <= ground.high[0]; ++i) {
    for (int j = ground.low[1]; j <= ground.high[1]; ++j) {
      if (i + j >= ground.least_sum && i + j <= ground.greatest_sum) {
        visit(GroundPoint{i, j});
      }
    }
  }
}

TEST(Ground, LeastChangeIsThatOfEveryPoint) {
  std::mt19937 random(31);
  for (int n = 0; n < 2000; ++n) {
    const Ways ways = random_ways(random);
    const GroundPoint centre = best_centre(ways.ground, ways.slopes);
    double least = std::numeric_limits<double>::infinity();
    bool inside = false;
    for_points(ways.ground, [&](const GroundPoint& at) {
      least = std::min(least, least_gain(ways.slopes, ways.ground.axes, centre, at));
      inside = inside || at == centre;
    });
    ASSERT_TRUE(inside) << n;
    ASSERT_NEAR(least_change(ways.ground, ways.slopes, centre), least, 1e-12) << n;
  }
}

TEST(Ground, ContractionLosesNoPointWithinTheRoom) {
  std::mt19937 random(32);
  std::uniform_real_distribution<double> uniform(0, 3);
  int shrunk = 0;
  for (int n = 0; n < 2000; ++n) {
    const Ways ways = random_ways(random);
    const GroundPoint centre = best_centre(ways.ground, ways.slopes);
    const double room = uniform(random);
    Ground left = ways.ground;
    const bool any = contract(left, ways.slopes, centre, room);
    shrunk += left.low != ways.ground.low || left.high != ways.ground.high ? 1 : 0;
    for_points(ways.ground, [&](const GroundPoint& at) {
      if (least_gain(ways.slopes, ways.ground.axes, centre, at) > room) {
        return;
      }
      ASSERT_TRUE(any) << n;
      for (std::size_t axis = 0; axis < ways.ground.axes; ++axis) {
        ASSERT_GE(at[axis], left.low[axis]) << n;
        ASSERT_LE(at[axis], left.high[axis]) << n;
      }
    });
  }
  EXPECT_GT(shrunk, 200);
}

TEST(Facing, LiesBelowTheWayAlongItsDirection) {
  std::mt19937 random(33);
  std::uniform_real_distribution<double> uniform(-1, 1);
  std::vector<std::string> warnings;
  for (int n = 0; n < 40; ++n) {
    const Lab target{70 + 12 * uniform(random), 3 + 4 * uniform(random), 18 + 8 * uniform(random)};
    const PlanRequest request =
        test::sample_request(test::sample_set(2, 1), test::target_lab(target), 2);
    const Problem problem = make_problem(request, warnings);
    const ViewFrame frame = make_frame(problem, problem.views.front());
    const double within = 1 + 3 * (1 + uniform(random));
    int close = 0;
    for (int k = 0; k < 300; ++k) {
      Vec3 d{uniform(random), uniform(random), uniform(random)};
      d = scale(1 / norm(d), d);
      const auto towards = facing(frame, d, within);
      ASSERT_TRUE(towards);
      const Xyz xyz = to_xyz({target.l + 5 * uniform(random), target.a + 5 * uniform(random),
                              target.b + 5 * uniform(random)},
                             frame.view->white);
      const SeenColour colour = seen(
          frame, {static_cast<float>(xyz.x), static_cast<float>(xyz.y), static_cast<float>(xyz.z)});
      const Vec3 y = offset(frame, colour);
      if (norm(y) < within) {
        const double along = dot(d, y);
        const double below = towards->constant + dot(towards->coefficient, colour.xyz);
        ASSERT_LE(below, along + 1e-9);
        close += below > along - 0.2 * within ? 1 : 0;
      }
    }
    EXPECT_GT(close, 0);
  }
}

}  // namespace
}  // namespace mamelon::detail
