#include "capture/steady_blur.h"

#include <algorithm>
#include <cmath>
#include <vector>

namespace mamelon::detail {
namespace {

std::vector<double> kernel_of(double sigma) {
  const int reach = static_cast<int>(std::ceil(4 * sigma));
  std::vector<double> kernel;
  double sum = 0;
  for (int i = -reach; i <= reach; ++i) {
    kernel.push_back(std::exp(-0.5 * i * i / (sigma * sigma)));
    sum += kernel.back();
  }
  for (double& weight : kernel) weight /= sum;
  return kernel;
}

// Which pixel stands at each place of a line with its mirrored borders.
std::vector<int> mirrored(int size, int reach) {
  std::vector<int> places;
  for (int i = -reach; i < size + reach; ++i) {
    places.push_back(cv::borderInterpolate(i, size, cv::BORDER_REFLECT_101));
  }
  return places;
}

}  // namespace

void steady_blur(cv::Mat& image, double sigma) {
  CV_Assert(image.depth() == CV_32F);
  const std::vector<double> kernel = kernel_of(sigma);
  const int reach = static_cast<int>(kernel.size() / 2);
  const int channels = image.channels();
  const std::vector<int> columns = mirrored(image.cols, reach);
  const std::vector<int> rows = mirrored(image.rows, reach);
  cv::Mat along(image.size(), image.type());
  for (int y = 0; y < image.rows; ++y) {
    const auto* from = image.ptr<float>(y);
    auto* to = along.ptr<float>(y);
    for (int x = 0; x < image.cols; ++x) {
      for (int c = 0; c < channels; ++c) {
        double sum = 0;
        for (std::size_t i = 0; i < kernel.size(); ++i) {
          const int at = columns[static_cast<std::size_t>(x) + i];
          sum += kernel[i] * static_cast<double>(from[at * channels + c]);
        }
        to[x * channels + c] = static_cast<float>(sum);
      }
    }
  }
  std::vector<double> sums(static_cast<std::size_t>(image.cols * channels));
  for (int y = 0; y < image.rows; ++y) {
    std::fill(sums.begin(), sums.end(), 0.0);
    for (std::size_t i = 0; i < kernel.size(); ++i) {
      const auto* from = along.ptr<float>(rows[static_cast<std::size_t>(y) + i]);
      for (std::size_t x = 0; x < sums.size(); ++x) {
        sums[x] += kernel[i] * static_cast<double>(from[x]);
      }
    }
    auto* to = image.ptr<float>(y);
    for (std::size_t x = 0; x < sums.size(); ++x) to[x] = static_cast<float>(sums[x]);
  }
}

}  // namespace mamelon::detail
