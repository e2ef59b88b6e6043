#include "plan/coarse.h"

#include <algorithm>

#include "plan/tables.h"

// Vectors without a size known to the compiler cannot stand in arrays.
#define HWY_DISABLED_TARGETS \
  (MAMELON_LEFT_OUT_TARGETS | HWY_SVE | HWY_SVE2 | HWY_SVE_256 | HWY_SVE2_128 | HWY_RVV)
#undef HWY_TARGET_INCLUDE
#define HWY_TARGET_INCLUDE "plan/coarse.cpp"
#include "hwy/foreach_target.h"
#include "hwy/highway.h"

HWY_BEFORE_NAMESPACE();
namespace mamelon::detail {
namespace HWY_NAMESPACE {
namespace hn = hwy::HWY_NAMESPACE;

using Tag = hn::ScalableTag<float>;

// A vector of stacks, one outermost paste each. Every operation is one that IEEE 754 fixes to the
// bit and none is fused, so that all instruction sets agree.
using Lanes = hn::Vec<Tag>;
HWY_INLINE Lanes all(float value) {
  return hn::Set(Tag(), value);
}
HWY_INLINE Lanes load(const float* from) {
  return hn::LoadU(Tag(), from);
}
HWY_INLINE Lanes within(Lanes x, float reach) {
  return hn::Min(hn::Max(x, all(-reach)), all(reach));
}

struct Three {
  Lanes x, y, z;
};
HWY_INLINE Lanes dot(const Three& a, const Three& b) {
  return a.x * b.x + a.y * b.y + a.z * b.z;
}
HWY_INLINE Three operator-(const Three& a, const Three& b) {
  return {a.x - b.x, a.y - b.y, a.z - b.z};
}
HWY_INLINE void add(Three& sum, const float* weight, Lanes value) {
  sum.x = sum.x + all(weight[0]) * value;
  sum.y = sum.y + all(weight[1]) * value;
  sum.z = sum.z + all(weight[2]) * value;
}

// f of CIELAB (ISO/CIE 11664-4) and its slope, by two of Halley's steps.
HWY_INLINE Lanes cube_root(Lanes t, Lanes& slope) {
  Lanes f = (all(0.2F) + t * (all(1.3F) - all(0.45F) * t)) / (all(0.9F) + all(0.15F) * t);
  for (int i = 0; i < 2; ++i) {
    const Lanes cube = f * f * f;
    f = f * ((cube + t + t) / (cube + cube + t));
  }
  constexpr float kappa = 24389.0F / 27 / 116;
  const auto dark = hn::Lt(t, all(216.0F / 24389));
  slope = hn::IfThenElse(dark, all(kappa), all(1) / (all(3) * f * f));
  return hn::IfThenElse(dark, all(kappa) * t + all(16.0F / 116), f);
}

// A change of tristimulus values as one of ΔE00's own coordinates.
HWY_INLINE Three stretched(const CoarseView& view, Lanes l, Lanes a, Lanes b) {
  return {all(view.root[0]) * l + all(view.root[1]) * a + all(view.root[2]) * b,
          all(view.root[3]) * a + all(view.root[4]) * b, all(view.root[5]) * b};
}
HWY_INLINE Three change(const CoarseView& view, const Three& slope, const Three& xyz) {
  const Lanes x = slope.x * xyz.x;
  const Lanes y = slope.y * xyz.y;
  const Lanes z = slope.z * xyz.z;
  return stretched(view, all(116) * y, all(500) * (x - y), all(200) * (y - z));
}

// What the lights together say of moves u between the layers: |δ + D u|², and the spread.
struct Sums {
  Lanes square, along[2], bend[3], spread, errors;
};

template <int columns>
HWY_INLINE void add_view(const CoarseTask& task, const CoarseView& view, const Lanes* shown,
                         const Lanes* per_rho, const Lanes* per_mm, Sums& sums) {
  const Three none{all(0), all(0), all(0)};
  Three xyz = none;
  Three outermost = none;
  Three column[std::max(columns, 1)];
  for (int c = 0; c < columns; ++c) column[c] = none;
  for (std::size_t i = 0; i < task.bands; ++i) {
    const float* weight = view.weights.data() + 3 * i;
    add(xyz, weight, shown[i]);
    add(outermost, weight, per_mm[i]);
    for (int c = 0; c < columns; ++c) {
      add(column[c], weight,
          per_rho[i] * all(task.slopes[static_cast<std::size_t>(c) * task.bands + i]));
    }
  }
  Three slope;
  const Lanes fx = cube_root(xyz.x, slope.x);
  const Lanes fy = cube_root(xyz.y, slope.y);
  const Lanes fz = cube_root(xyz.z, slope.z);
  const Three off = stretched(view, all(116) * fy - all(16 + view.target[0]),
                              all(500) * (fx - fy) - all(view.target[1]),
                              all(200) * (fy - fz) - all(view.target[2]));
  sums.square = sums.square + dot(off, off);
  const Three top = change(view, slope, outermost);
  if (!task.total_held) sums.spread = sums.spread + dot(top, top);
  Three moved[2] = {none, none};
  for (int c = 0; c < columns; ++c) {
    const Three g = change(view, slope, column[c]);
    if (c >= 2 || c >= task.layers_below) {
      sums.errors = sums.errors + dot(g, g);
      continue;
    }
    moved[c] = g - top;
    sums.spread = sums.spread + (task.total_held ? dot(moved[c], moved[c]) : dot(g, g));
    sums.along[c] = sums.along[c] + dot(off, moved[c]);
  }
  sums.bend[0] = sums.bend[0] + dot(moved[0], moved[0]);
  sums.bend[1] = sums.bend[1] + dot(moved[0], moved[1]);
  sums.bend[2] = sums.bend[2] + dot(moved[1], moved[1]);
}

// The least of |δ + D u|² for moves within reach.
HWY_INLINE Lanes least_square(const CoarseTask& task, const Sums& s) {
  const Lanes tiny = all(1e-12F);
  const Lanes first = s.bend[0] + tiny;
  const Lanes second = s.bend[2] + tiny;
  Lanes u = all(0) - s.along[0] / first;
  Lanes w = all(0);
  if (task.layers_below == 2) {
    const Lanes det = first * second - s.bend[1] * s.bend[1] + tiny;
    u = within((s.bend[1] * s.along[1] - second * s.along[0]) / det, task.move_mm);
    w = within((all(0) - s.along[1] - s.bend[1] * u) / second, task.move_mm);
    u = (all(0) - s.along[0] - s.bend[1] * w) / first;
  }
  u = within(u, task.move_mm);
  const Lanes square = s.square + u * (s.along[0] + s.along[0] + first * u) +
                       w * (s.along[1] + s.along[1] + second * w) + (u + u) * w * s.bend[1];
  return hn::Max(square, all(0));
}

template <int columns>
HWY_INLINE void lower_lanes(const CoarseTask& task, std::size_t lane) {
  Lanes shown[most_bands];
  Lanes per_rho[most_bands];
  Lanes per_mm[most_bands];
  for (std::size_t i = 0; i < task.bands; ++i) {
    const float* rows = task.top + i * top_rows * task.lanes + lane;
    const Lanes rho = all(task.below[i]);
    const Lanes up = load(rows + task.lanes);
    const Lanes back = load(rows + 2 * task.lanes);
    const Lanes escape = all(1) / (all(1) - back * rho);
    const Lanes m = (load(rows) + up * rho) * escape;
    shown[i] = m;
    per_rho[i] = (up + back * m) * escape;
    per_mm[i] = (load(rows + 3 * task.lanes) +
                 rho * (load(rows + 4 * task.lanes) + load(rows + 5 * task.lanes) * m)) *
                escape;
  }
  const Lanes zero = all(0);
  Sums sums{zero, {zero, zero}, {zero, zero, zero}, zero, zero};
  for (const CoarseView& view : task.views) {
    add_view<columns>(task, view, shown, per_rho, per_mm, sums);
  }
  const Lanes square = task.layers_below == 0 ? sums.square : least_square(task, sums);
  const Lanes model = hn::Max(load(task.model_variance + lane), all(task.model_variance_below));
  const Lanes value = square + all(task.thickness_variance) * sums.spread + sums.errors +
                      all(task.model_ms) * model + all(task.constant_ms) +
                      load(task.penalty + lane);
  const Lanes before = load(task.best + lane);
  const auto better = hn::Lt(value, before);
  hn::StoreU(hn::IfThenElse(better, value, before), Tag(), task.best + lane);
  hn::StoreU(hn::IfThenElse(better, all(task.place_of_this), load(task.place + lane)), Tag(),
             task.place + lane);
}

constexpr int most_columns = 5;  // two layers below and three errors of the floor

template <int columns = 0>
void lower_all(const CoarseTask& task) {
  if constexpr (columns < most_columns) {
    if (task.columns > columns) return lower_all<columns + 1>(task);
  }
  const std::size_t lanes = hn::Lanes(Tag());
  for (std::size_t lane = task.first_lane; lane < task.lanes; lane += lanes) {
    lower_lanes<columns>(task, lane);
  }
}

void coarse_kernel(const CoarseTask& task) {
  lower_all(task);
}

}  // namespace HWY_NAMESPACE
}  // namespace mamelon::detail
HWY_AFTER_NAMESPACE();

#if HWY_ONCE
namespace mamelon::detail {

HWY_EXPORT(coarse_kernel);

void lower_best(const CoarseTask& task) {
  HWY_DYNAMIC_DISPATCH(coarse_kernel)(task);
}

}  // namespace mamelon::detail
#endif  // HWY_ONCE
