#pragma once
// A part of the photo as a small picture in CIELAB, for finding things in it.

#include <opencv2/core.hpp>

#include "mamelon/card.h"
#include "mamelon/image.h"

namespace mamelon::detail {

// A rectangle of the photo with `step` × `step` pixels averaged into one.
struct LabView {
  cv::Rect part;  // in photo pixels; its size is a multiple of `step`
  int step = 1;
  double px_per_mm = 1;  // of the view
  cv::Mat3f lab;
  cv::Mat1f least;  // smallest of the channels over that of white, in which glare stands out most
  cv::Mat1b clipped;

  [[nodiscard]] cv::Point2f to_view(PointPx p) const {
    const double half = 0.5 * (step - 1);
    return {static_cast<float>((p.x - part.x - half) / step),
            static_cast<float>((p.y - part.y - half) / step)};
  }
  [[nodiscard]] PointPx to_photo(cv::Point2f p) const {
    const double half = 0.5 * (step - 1);
    return {part.x + half + step * static_cast<double>(p.x),
            part.y + half + step * static_cast<double>(p.y)};
  }
};

// CIELAB by one linear map taken from the fit near a typical tooth colour: right to about a unit,
// and fast enough for every pixel.
LabView make_view(const Photo& photo, const CardFit& fit, cv::Rect part, double px_per_mm_wanted);

// Pixels of the photo for one millimetre around a place, from the card's homography.
double px_per_mm_at(const CardFit& fit, PointPx at);

}  // namespace mamelon::detail
