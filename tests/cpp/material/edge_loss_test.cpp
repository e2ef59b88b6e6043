#include "material/edge_loss.h"

#include <array>

#include <gtest/gtest.h>

namespace mamelon {
namespace {

struct Slab {
  double absorption, scattering, g, mm, floor;
  bool gap;
  std::array<double, 3> lost;  // under 13/8, 8/4 and 5/3 mm
};

// `edge_loss 200000 11 check …` (tests/bench/edge_loss.cpp): photons of these very slabs, none of
// which stands at a node of the table; standard error 0.001 and less.
constexpr std::array slabs{
    Slab{0.05, 5, 0.8, 1, 0.9, true, {0.06642, 0.16693, 0.36147}},
    Slab{0.02, 4, 0.7, 0.5, 0.8, true, {0.02763, 0.08146, 0.21859}},
    Slab{0.2, 6, 0.8, 1, 0.05, true, {0.01196, 0.04466, 0.16800}},
    Slab{0.01, 2, 0, 2, 0.82, true, {0.07578, 0.17617, 0.35266}},
    Slab{0.05, 5, 0.8, 1, 0.9, false, {0.04803, 0.13261, 0.31687}},
};
constexpr std::array apertures{Aperture{13, 8}, Aperture{8, 4}, Aperture{5, 3}};

TEST(EdgeLoss, TheTableSaysWhatPhotonsDo) {
  for (const Slab& slab : slabs) {
    for (std::size_t i = 0; i < apertures.size(); ++i) {
      const detail::EdgeLoss loss(apertures.at(i), slab.mm, slab.gap);
      EXPECT_NEAR(
          loss(slab.mm, slab.absorption, slab.scattering * (1 - slab.g), slab.g, 1.5, slab.floor),
          slab.lost.at(i), 0.004 + 0.02 * slab.lost.at(i));
    }
  }
}

TEST(EdgeLoss, FallsWithTheApertureToNothing) {
  double last = 1;
  for (const double lit : {4.0, 6.0, 9.0, 14.0, 20.0, 30.0}) {
    const detail::EdgeLoss loss({lit, 3}, 1, false);
    const double lost = loss(1, 0.05, 1, 0.7, 1.5, 0.9);
    EXPECT_LT(lost, last);
    last = lost;
  }
  EXPECT_LT(last, 1e-3);
  const detail::EdgeLoss endless({1000, 500}, 1, false);
  EXPECT_TRUE(endless.none());
  EXPECT_EQ(endless(1, 0.05, 1, 0.7, 1.5, 0.9), 0);
}

TEST(EdgeLoss, FollowsTheThicknessThatIsFitted) {
  const detail::EdgeLoss at_one({8, 4}, 1, false);
  const detail::EdgeLoss at_more({8, 4}, 1.04, false);
  EXPECT_NEAR(at_one(1.04, 0.05, 1, 0.7, 1.5, 0.9), at_more(1.04, 0.05, 1, 0.7, 1.5, 0.9), 5e-4);
}

}  // namespace
}  // namespace mamelon
