// Ours beside general-purpose libraries in one process: Little CMS (CIEDE2000) and OpenCV (CIELAB).
//
// All compared run by turns over the same short blocks of the same 10^6 rows, and the smallest time
// of each block counts: other work on the machine then touches all alike, and mostly none.

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <functional>
#include <limits>
#include <random>
#include <string>
#include <vector>

#include <lcms2.h>
#include <opencv2/imgproc.hpp>

#include "mamelon/batch.h"

#include "random_lab.h"

namespace {

using mamelon::BatchOptions;
using mamelon::LabRows;
using mamelon::bench::columns_of;
using mamelon::bench::tooth_colours;

constexpr std::size_t rows = 1'000'000;
constexpr std::size_t block = 2000;  // short beside a time slice of the scheduler
constexpr int repeats = 12;

struct Contestant {
  std::string name;
  std::function<void(std::size_t first)> run;  // rows [first, first + block)
};

// Nanoseconds a row.
std::vector<double> measure(const std::vector<Contestant>& contestants) {
  using Clock = std::chrono::steady_clock;
  std::vector<std::vector<double>> least(
      contestants.size(),
      std::vector<double>(rows / block, std::numeric_limits<double>::infinity()));
  for (int repeat = 0; repeat < repeats; ++repeat) {
    for (std::size_t c = 0; c < contestants.size(); ++c) {
      for (std::size_t i = 0; i < rows / block; ++i) {
        const auto start = Clock::now();
        contestants[c].run(i * block);
        const std::chrono::duration<double, std::nano> time = Clock::now() - start;
        least[c][i] = std::min(least[c][i], time.count());
      }
    }
  }
  std::vector<double> per_row;
  for (const auto& blocks : least) {
    double sum = 0;
    for (const double time : blocks) sum += time;
    per_row.push_back(sum / static_cast<double>(rows));
  }
  return per_row;
}

void print(const std::string& title, const std::vector<Contestant>& contestants, std::size_t unit) {
  const std::vector<double> times = measure(contestants);
  std::printf("%s\n", title.c_str());
  for (std::size_t c = 0; c < times.size(); ++c) {
    std::printf("  %-44s %8.2f ns   %7.1f x\n", contestants[c].name.c_str(), times[c],
                times[unit] / times[c]);
  }
}

template <class T>
struct Pairs {
  std::vector<T> a = tooth_colours<T>(rows, 1);
  std::vector<T> b = tooth_colours<T>(rows, 2);
  std::vector<T> a_columns = columns_of(a);
  std::vector<T> b_columns = columns_of(b);
  std::vector<T> de = std::vector<T>(rows);

  LabRows<T> part(const std::vector<T>& columns, std::size_t first) const {
    const std::span<const T> all(columns);
    return LabRows<T>::columns(all.subspan(first, block), all.subspan(rows + first, block),
                               all.subspan(2 * rows + first, block));
  }
  void run_columns(std::size_t first) {
    mamelon::de00_rows<T>(part(a_columns, first), part(b_columns, first),
                          std::span(de).subspan(first, block), BatchOptions{.threads = 1});
  }
  void run_interleaved(std::size_t first) {
    mamelon::de00_rows<T>(
        LabRows<T>::interleaved(std::span<const T>(a).subspan(3 * first, 3 * block)),
        LabRows<T>::interleaved(std::span<const T>(b).subspan(3 * first, 3 * block)),
        std::span(de).subspan(first, block), BatchOptions{.threads = 1});
  }
};

void colour_differences() {
  Pairs<float> floats;
  Pairs<double> doubles;
  std::vector<double> lcms(rows);
  const std::vector<Contestant> contestants{
      {"Little CMS cmsCIE2000DeltaE",
       [&](std::size_t first) {
         for (std::size_t i = first; i < first + block; ++i) {
           const cmsCIELab p{doubles.a[3 * i], doubles.a[3 * i + 1], doubles.a[3 * i + 2]};
           const cmsCIELab q{doubles.b[3 * i], doubles.b[3 * i + 1], doubles.b[3 * i + 2]};
           lcms[i] = cmsCIE2000DeltaE(&p, &q, 1, 1, 1);
         }
       }},
      {"mamelon float, columns", [&](std::size_t first) { floats.run_columns(first); }},
      {"mamelon float, interleaved", [&](std::size_t first) { floats.run_interleaved(first); }},
      {"mamelon double, columns", [&](std::size_t first) { doubles.run_columns(first); }},
      {"mamelon double, interleaved", [&](std::size_t first) { doubles.run_interleaved(first); }}};
  print("CIEDE2000, 10^6 pairs in memory, one thread, a pair", contestants, 0);
  double largest = 0;
  for (std::size_t i = 0; i < rows; ++i)
    largest = std::max(largest, std::abs(lcms[i] - doubles.de[i]));
  std::printf("  largest difference between Little CMS and mamelon double: %.1e\n", largest);
}

void photo_to_lab() {
  std::vector<std::uint8_t> rgb(3 * rows);
  std::mt19937_64 random(3);
  for (auto& value : rgb) value = static_cast<std::uint8_t>(random());
  std::vector<float> ours(3 * rows);
  cv::setNumThreads(1);
  cv::Mat as_float;
  cv::Mat lab;
  cv::Mat lab8;
  const auto image = [&rgb](std::size_t first) {
    return cv::Mat(1, static_cast<int>(block), CV_8UC3, rgb.data() + 3 * first);
  };
  print("8-bit sRGB to CIELAB, 10^6 pixels, one thread, a pixel",
        {{"OpenCV cvtColor, float",
          [&](std::size_t first) {
            image(first).convertTo(as_float, CV_32FC3, 1.0 / 255);
            cv::cvtColor(as_float, lab, cv::COLOR_RGB2Lab);
          }},
         {"OpenCV cvtColor, 8 bits (rounded L*a*b*)",
          [&](std::size_t first) { cv::cvtColor(image(first), lab8, cv::COLOR_RGB2Lab); }},
         {"mamelon float",
          [&](std::size_t first) {
            mamelon::lab_from_srgb8(
                std::span<const std::uint8_t>(rgb).subspan(3 * first, 3 * block),
                std::span(ours).subspan(3 * first, 3 * block), 1);
          }}},
        0);
}

void nearest_of_16() {
  const auto pixels = tooth_colours<float>(rows, 4);
  const auto tabs = tooth_colours<float>(16, 5);
  std::vector<std::uint8_t> rgb(3 * rows);
  std::mt19937_64 random(6);
  for (std::size_t i = 0; i < rgb.size(); ++i) {  // ivory
    rgb[i] = static_cast<std::uint8_t>(205 - 25 * (i % 3) + random() % 32);
  }
  std::vector<std::uint32_t> index(rows);
  std::vector<float> de(rows);
  const BatchOptions options{.threads = 1};
  print("nearest of 16 tabs, one thread, a pixel",
        {{"mamelon, from CIELAB",
          [&](std::size_t first) {
            mamelon::nearest_rows<float>(
                LabRows<float>::interleaved(
                    std::span<const float>(pixels).subspan(3 * first, 3 * block)),
                LabRows<float>::interleaved(tabs), std::span(index).subspan(first, block),
                std::span(de).subspan(first, block), options);
          }},
         {"mamelon, from 8-bit sRGB",
          [&](std::size_t first) {
            mamelon::nearest_srgb8(std::span<const std::uint8_t>(rgb).subspan(3 * first, 3 * block),
                                   LabRows<float>::interleaved(tabs),
                                   std::span(index).subspan(first, block),
                                   std::span(de).subspan(first, block), options);
          }}},
        0);
}

}  // namespace

int main() {
  colour_differences();
  photo_to_lab();
  nearest_of_16();
}
