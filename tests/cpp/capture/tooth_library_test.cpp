// What the library expects of teeth, against the modelled ones of data/camera.

#include "capture/tooth_library.h"

#include <gtest/gtest.h>

namespace {

using mamelon::detail::natural_teeth;
using mamelon::detail::tooth_library;

// Reflectances over that at 560 nm.
Eigen::MatrixXd shapes(const Eigen::MatrixXd& reflectances) {
  constexpr Eigen::Index at_560_nm = 16;
  return reflectances.array().colwise() / reflectances.col(at_560_nm).array();
}

TEST(ToothLibrary, HoldsNaturalTeethInEveryBand) {
  const Eigen::MatrixXd library = shapes(tooth_library(500));
  const Eigen::MatrixXd teeth = shapes(natural_teeth());
  for (Eigen::Index band = 0; band < teeth.cols(); ++band) {
    EXPECT_LE(library.col(band).minCoeff(), teeth.col(band).minCoeff()) << band;
    EXPECT_GE(library.col(band).maxCoeff(), teeth.col(band).maxCoeff()) << band;
  }
}

// Once it ended short of how half of the natural teeth fall off in the violet, and read them with
// too much b* before warm light.
TEST(ToothLibrary, HoldsTheFallInTheViolet) {
  const auto bends = [](const Eigen::MatrixXd& reflectances) -> Eigen::VectorXd {
    const Eigen::MatrixXd logs = reflectances.array().log();
    return logs.col(0) - 2 * logs.col(5) + logs.col(10);  // 400, 450 and 500 nm
  };
  const Eigen::VectorXd library = bends(tooth_library(500));
  const Eigen::VectorXd teeth = bends(natural_teeth());
  EXPECT_LT(library.minCoeff(), teeth.minCoeff());
  EXPECT_GT(library.maxCoeff(), teeth.maxCoeff());
}

TEST(ToothLibrary, ExpectsTheMeanOfNaturalTeeth) {
  const Eigen::RowVectorXd library = shapes(tooth_library(500)).array().log().colwise().mean();
  const Eigen::RowVectorXd teeth = shapes(natural_teeth()).array().log().colwise().mean();
  // Its own lift in the violet is 0.04.
  EXPECT_LT((library - teeth).cwiseAbs().maxCoeff(), 0.06);
}

TEST(ToothLibrary, IsDarkerThanAPerfectWhite) {
  const Eigen::MatrixXd library = tooth_library(300);
  EXPECT_EQ(library.rows(), 300);
  EXPECT_GT(library.minCoeff(), 0);
  EXPECT_LT(library.maxCoeff(), 0.95);
}

}  // namespace
