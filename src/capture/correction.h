#pragma once
// The fitted steps from a pixel's light to CIELAB, together.

#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <vector>

#include "mamelon/card.h"
#include "mamelon/discs.h"
#include "mamelon/kept_fit.h"

#include "capture/colour_map.h"
#include "capture/light_field.h"
#include "capture/tone.h"

namespace mamelon::detail {

using MapFitter = std::function<std::unique_ptr<ColourMap>(const Training&)>;

// A patch's error when it is left out of the fit: fitted less reference, in CIELAB, and its mean
// square in standard deviations of what the map states.
struct LeaveOneOut {
  Lab reference;
  Eigen::Vector3d error;
  double standardised = 0;
  Eigen::Matrix3d covariance = Eigen::Matrix3d::Zero();  // of `error`, as the map states it
};

// How much a colour tells of another, by their ΔE*ab: 1 where they are one, little from 30 on.
double nearness(const Lab& one, const Lab& other);
// Means over patches, those near tooth colours weighing most: the square of the standardised errors
// (1 where they are as stated), and the root of the squared ΔE00.
double standardised_near_teeth(const std::vector<LeaveOneOut>& errors);
double de00_near_teeth(const std::vector<LeaveOneOut>& errors);

// Of every patch of `training`. With `toned` the tone curve too is fitted again without the patch.
std::vector<LeaveOneOut> leave_one_out(const Training& training, const MapFitter& fit, bool toned);

// How the stated uncertainty is put together.
struct ErrorModel {
  double map_variance_factor = 1;   // of the covariance that the map states
  double leave_one_out_factor = 1;  // of the squared errors that patches around the colour show
};

// A surface of known colour in the photo, beside the card.
struct Anchor {
  Signal signal;
  Lab lab;
  Eigen::Matrix3d covariance = Eigen::Matrix3d::Zero();  // of `lab`
};

class FittedCorrection : public Correction {
 public:
  struct Parts {
    CorrectionMethod method;
    LightField light;
    std::optional<Tone> tone;
    std::unique_ptr<ColourMap> map;
    std::unique_ptr<ColourMap> second_opinion;  // none: no other map to compare with
    Xyz white;
    std::vector<LeaveOneOut> errors;
    ErrorModel error_model;
    std::vector<Anchor> anchors = {};
    std::optional<LightDrift> drift = {};  // since the card was seen; none: it is in the same photo
  };
  // Readings are conditioned on the anchors: their errors tell of those of every other reading what
  // both share (a Gaussian process whose covariance is that of the stated errors; Rasmussen and
  // Williams 2006, chapter 2).
  explicit FittedCorrection(Parts parts);

  using Correction::lab;
  [[nodiscard]] Measured<Lab> lab(const Signal& signal) const override;
  [[nodiscard]] Mat3 common(const Signal& one, const Signal& other) const override;
  [[nodiscard]] CorrectionMethod method() const override { return parts_.method; }
  [[nodiscard]] double light(PointPx at) const override { return parts_.light.gain(at); }
  [[nodiscard]] double light_log_sd(PointPx at) const override;
  // Of surfaces of one material that lie on a bench in one light with the card, by the card alone:
  // no shadow's edge runs between them.
  [[nodiscard]] JointLab on_bench(std::span<const Signal> signals) const;
  // Whether the anchors are read as far from what they are as their errors explain, 999 times of
  // 1000.
  [[nodiscard]] bool anchors_agree() const;

 private:
  // A signal as the map takes it, and what follows from it.
  struct Read {
    Seen seen;
    MapEstimate estimate;
    Lab value = {};
    Eigen::Matrix3d to_lab = {};      // from XYZ
    Eigen::Matrix3d raw_slope = {};   // CIELAB over the signal
    Eigen::Vector3d by_light = {};    // CIELAB over the logarithm of light
    Eigen::Matrix3d by_channel = {};  // the same of each channel
    Eigen::Vector3d apart = {};       // what counts of the second opinion's disagreement
  };
  [[nodiscard]] Read read(const Signal& signal) const;
  [[nodiscard]] double unseen_light(const Signal& signal, double y) const;
  // By the card, with the sd of the logarithm of light that white beside it would have told of.
  [[nodiscard]] Measured<Lab> described(const Signal& signal, const Read& read,
                                        double unseen) const;
  [[nodiscard]] Eigen::Matrix3d common_of(const Read& one, const Read& other,
                                          double light_covariance) const;
  // What a reading's error holds beside what patches around the colour show, and beside `common`.
  [[nodiscard]] Eigen::Matrix3d own_of(const Measured<Lab>& measured,
                                       const Eigen::Matrix3d& common) const;
  // As the card alone reads it.
  [[nodiscard]] Measured<Lab> by_card(const Signal& signal) const;
  // Covariance of two signals' errors, with what surfaces of one kind and nearly one colour share.
  [[nodiscard]] Eigen::Matrix3d shared_of(const Signal& one, const Signal& other) const;
  [[nodiscard]] Eigen::MatrixXd shared_with_anchors(const Signal& signal) const;
  [[nodiscard]] Eigen::Matrix3d error_around(const Lab& lab) const;
  [[nodiscard]] Eigen::Matrix3d drifted(const Read& one, const Read& other) const;

  Parts parts_;
  Eigen::LDLT<Eigen::MatrixXd> anchored_;  // covariance of what was read at the anchors
  Eigen::VectorXd anchor_pull_;            // its inverse times what they were missed by
  double anchor_misfit_ = 0;               // chi-squared of what they were missed by
};

}  // namespace mamelon::detail
