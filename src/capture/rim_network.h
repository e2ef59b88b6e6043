#pragma once
// Where the rim of a tooth lies along rays from a point within it: a small convolutional network.

#include <array>
#include <cstddef>
#include <vector>

namespace mamelon::detail {

// Rays run at equal angles, clockwise in the picture from its right; steps run outwards.
constexpr int ray_count = 64;
constexpr int ray_steps = 64;
constexpr double ray_step_mm = 0.14;
// What a step of a ray is described by: L*, a*, b*, depth of a dark seam, distance.
constexpr int ray_channels = 5;

// ray_count × ray_steps × ray_channels, channels last.
using RayPicture = std::vector<float>;
// ray_count × ray_steps: natural logarithm of the probability that the rim lies at a step.
using RimLogs = std::vector<float>;

// The weights were learned by tests/learn/learn_rim.py from photographs with drawn outlines.
RimLogs rim_logs(const RayPicture& picture);

}  // namespace mamelon::detail
