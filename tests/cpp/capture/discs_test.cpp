// Discs of one material that are read together.

#include "mamelon/discs.h"

#include <array>
#include <cmath>
#include <vector>

#include <Eigen/Dense>
#include <gtest/gtest.h>

#include "mamelon/difference.h"
#include "mamelon/error.h"
#include "mamelon/zones.h"

#include "colour/vectors.h"
#include "demo.h"

namespace {

using demo::d65;
using demo::scene;
using mamelon::BoxPx;
using mamelon::SurfaceKind;

// The demo photo's teeth stand in for discs: what counts is how their errors are put together.
TEST(Discs, ColoursAreThoseOfBoxesAndErrTogether) {
  const auto& s = scene("front_teeth_linear");
  const auto fit = fit_card(s.photo, s.card, d65());
  std::vector<BoxPx> boxes;
  for (const auto& tooth : s.teeth) {
    boxes.push_back({tooth.point.x - 5, tooth.point.y - 5, 10, 10});
    boxes.push_back({tooth.point.x - 5, tooth.point.y + 7, 10, 10});
  }
  const mamelon::JointLab discs = read_discs(s.photo, fit, boxes);
  const auto n = 3 * static_cast<Eigen::Index>(boxes.size());
  ASSERT_EQ(discs.covariance.size(), static_cast<std::size_t>(n * n));
  const Eigen::Map<const Eigen::MatrixXd> joint(discs.covariance.data(), n, n);
  EXPECT_LT((joint - joint.transpose()).cwiseAbs().maxCoeff(), 1e-9);
  for (std::size_t i = 0; i < boxes.size(); ++i) {
    const auto alone = read_box(s.photo, fit, boxes[i], SurfaceKind::restoration, "disc").lab;
    EXPECT_LT(mamelon::de76(discs.lab[i], alone.value), 1e-9);
    const Eigen::Matrix3d own =
        joint.block<3, 3>(3 * static_cast<Eigen::Index>(i), 3 * static_cast<Eigen::Index>(i));
    const Eigen::Matrix3d whole = mamelon::detail::to_eigen(alone.covariance());
    // Less by what a shadow between card and surface may do, nothing where the card tells of it.
    EXPECT_LE(own.trace(), whole.trace() + 1e-9);
  }
  // Of two boxes on one tooth the difference is known better than either.
  for (const int c : {1, 2}) {
    EXPECT_LT(joint(c, c) + joint(3 + c, 3 + c) - 2 * joint(c, 3 + c), joint(c, c));
  }
}

TEST(Discs, AShadowBetweenCardAndDiscsIsNoPartOfTheirError) {
  const auto& s = scene("front_teeth_linear");
  const auto fit = fit_card(s.photo, s.card, d65());
  // Far from the card.
  const std::array boxes{BoxPx{s.teeth.front().point.x - 5, s.teeth.front().point.y - 5, 10, 10}};
  const auto alone = read_box(s.photo, fit, boxes[0], SurfaceKind::restoration, "disc").lab;
  EXPECT_GT(alone.sd()[0], 2);
  EXPECT_LT(std::sqrt(read_discs(s.photo, fit, boxes).covariance[0]), 1);
}

TEST(Discs, ABoxBeyondThePhotoIsAnError) {
  const auto& s = scene("front_teeth_linear");
  const auto fit = fit_card(s.photo, s.card, d65());
  const std::array boxes{BoxPx{-5, 0, 10, 10}};
  EXPECT_THROW((void)read_discs(s.photo, fit, boxes), mamelon::ArgumentError);
}

}  // namespace
