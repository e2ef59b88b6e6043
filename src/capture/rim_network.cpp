#include "capture/rim_network.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <span>

#include "tables/rim_weights.h"

namespace mamelon::detail {
namespace {

// Channels last; the first axis is the angle and closes on itself.
struct Layer {
  int rows = 0;
  int columns = 0;
  int channels = 0;
  std::vector<float> values;

  Layer(int r, int c, int n)
      : rows(r),
        columns(c),
        channels(n),
        values(static_cast<std::size_t>(r) * static_cast<std::size_t>(c) *
               static_cast<std::size_t>(n)) {}
  [[nodiscard]] const float* at(int r, int c) const {
    return values.data() + (static_cast<std::ptrdiff_t>(r) * columns + c) * channels;
  }
  [[nodiscard]] float* at(int r, int c) {
    return values.data() + (static_cast<std::ptrdiff_t>(r) * columns + c) * channels;
  }
};

// One layer's weights as stored: row, column, input, output, each output with a scale of its own.
struct Weights {
  std::span<const std::int8_t> values;
  std::span<const float> scale;
  std::span<const float> bias;
};

template <int outputs>
void convolve_row(const Layer& in, const std::vector<float>& kernel, std::span<const float> bias,
                  int stride, int row, Layer& out) {
  for (int column = 0; column < out.columns; ++column) {
    std::array<float, outputs> sum;
    for (std::size_t o = 0; o < outputs; ++o) sum[o] = bias[o];
    for (int dy = 0; dy < 3; ++dy) {
      const int y = (row * stride + dy - 1 + in.rows) % in.rows;
      for (int dx = 0; dx < 3; ++dx) {
        const int x = column * stride + dx - 1;
        if (x < 0 || x >= in.columns) continue;
        const float* from = in.at(y, x);
        const float* weight =
            kernel.data() + static_cast<std::ptrdiff_t>(dy * 3 + dx) * in.channels * outputs;
        for (int i = 0; i < in.channels; ++i, weight += outputs) {
          const float value = from[i];
          for (std::size_t o = 0; o < outputs; ++o) sum[o] += value * weight[o];
        }
      }
    }
    float* to = out.at(row, column);
    for (std::size_t o = 0; o < outputs; ++o) to[o] = std::max(sum[o], 0.1F * sum[o]);
  }
}

// 3 × 3, followed by the leaky rectifier.
template <int outputs>
Layer convolve(const Layer& in, const Weights& weights, int stride = 1) {
  std::vector<float> kernel(weights.values.size());
  for (std::size_t i = 0; i < kernel.size(); ++i) {
    kernel[i] = static_cast<float>(weights.values[i]) * weights.scale[i % outputs];
  }
  Layer out(in.rows / stride, in.columns / stride, outputs);
  for (int row = 0; row < out.rows; ++row) {
    convolve_row<outputs>(in, kernel, weights.bias, stride, row, out);
  }
  return out;
}

// The coarse layer at twice its size, and the fine one behind it.
Layer joined(const Layer& coarse, const Layer& fine) {
  Layer out(fine.rows, fine.columns, coarse.channels + fine.channels);
  for (int row = 0; row < out.rows; ++row) {
    for (int column = 0; column < out.columns; ++column) {
      float* to = out.at(row, column);
      to = std::copy_n(coarse.at(row / 2, column / 2), coarse.channels, to);
      std::copy_n(fine.at(row, column), fine.channels, to);
    }
  }
  return out;
}

}  // namespace

RimLogs rim_logs(const RayPicture& picture) {
  using namespace tables::rim_weights;
  Layer input(ray_count, ray_steps, ray_channels);
  input.values = picture;
  const Layer a = convolve<12>(input, {a_values, a_scale, a_bias});
  const Layer b = convolve<24>(a, {b_values, b_scale, b_bias}, 2);
  const Layer c = convolve<24>(b, {c_values, c_scale, c_bias});
  const Layer d = convolve<32>(c, {d_values, d_scale, d_bias}, 2);
  const Layer e = convolve<32>(d, {e_values, e_scale, e_bias});
  Layer f = convolve<32>(e, {f_values, f_scale, f_bias});
  for (std::size_t i = 0; i < f.values.size(); ++i) f.values[i] += d.values[i];
  const Layer g = convolve<24>(joined(f, c), {g_values, g_scale, g_bias});
  const Layer h = convolve<12>(joined(g, a), {h_values, h_scale, h_bias});

  RimLogs logs(static_cast<std::size_t>(ray_count) * ray_steps);
  for (int ray = 0; ray < ray_count; ++ray) {
    float* out = logs.data() + static_cast<std::ptrdiff_t>(ray) * ray_steps;
    for (int step = 0; step < ray_steps; ++step) {
      const float* from = h.at(ray, step);
      float sum = o_bias[0];
      for (std::size_t i = 0; i < 12; ++i) {
        sum += from[i] * (static_cast<float>(o_values[i]) * o_scale[0]);
      }
      out[step] = sum;
    }
    const float top = *std::max_element(out, out + ray_steps);
    float total = 0;
    for (int step = 0; step < ray_steps; ++step)
      total += static_cast<float>(std::exp(static_cast<double>(out[step] - top)));
    const float whole = top + static_cast<float>(std::log(static_cast<double>(total)));
    for (int step = 0; step < ray_steps; ++step) out[step] -= whole;
  }
  return logs;
}

}  // namespace mamelon::detail
