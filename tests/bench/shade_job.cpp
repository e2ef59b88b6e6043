// The whole job beside decoding alone: from a JPEG to zone readings and to ranked tabs.
//
//   bench_shade_job PHOTO.jpg CARD.json TABS.json [X,Y of the tooth] [runs]
//
// Each run is a process of its own, so that its peak memory is its own; the kinds of run take
// turns. Printed are medians: wall and CPU time, the largest resident memory, the same in bytes a
// pixel above the decoded image (3 bytes a pixel), and the wall time over that of decoding alone;
// the least wall times too, which a busy machine spoils less.

#include <algorithm>
#include <array>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <exception>
#include <fstream>
#include <functional>
#include <iterator>
#include <span>
#include <stdexcept>
#include <string>
#include <vector>

#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include "mamelon/mamelon.h"

// jpeglib.h needs size_t and FILE declared first.
#include <jpeglib.h>

namespace {

struct Cost {
  double wall_ms = 0;
  double cpu_ms = 0;
  double peak_mb = 0;
};

struct Job {
  std::string photo, card, tabs;
  mamelon::PointPx tooth;
};

// libjpeg alone, as it comes: the floor.
std::array<std::size_t, 2> decode(const std::string& file) {
  std::ifstream in(file, std::ios::binary);
  const std::vector<char> bytes((std::istreambuf_iterator<char>(in)),
                                std::istreambuf_iterator<char>());
  jpeg_decompress_struct info{};
  jpeg_error_mgr errors{};
  info.err = jpeg_std_error(&errors);
  jpeg_create_decompress(&info);
  jpeg_mem_src(&info, reinterpret_cast<const unsigned char*>(bytes.data()), bytes.size());
  jpeg_read_header(&info, TRUE);
  info.out_color_space = JCS_RGB;
  jpeg_start_decompress(&info);
  const std::size_t stride = std::size_t{info.output_width} * 3;
  std::vector<std::uint8_t> pixels(stride * info.output_height);
  while (info.output_scanline < info.output_height) {
    JSAMPROW row = pixels.data() + info.output_scanline * stride;
    jpeg_read_scanlines(&info, &row, 1);
  }
  jpeg_finish_decompress(&info);
  const std::array<std::size_t, 2> size = {info.output_width, info.output_height};
  jpeg_destroy_decompress(&info);
  return size;
}

// The case of the job, with or without tabs to rank.
mamelon::Report solved(const Job& job, bool ranked) {
  std::ifstream in(job.photo, std::ios::binary);
  const std::string content((std::istreambuf_iterator<char>(in)), std::istreambuf_iterator<char>());
  const auto bytes = std::as_bytes(std::span(content));
  mamelon::Case given{.label = "bench", .viewing = mamelon::viewing_from_string("D65/2")};
  given.photo = mamelon::CasePhoto{.file = mamelon::GivenFile({bytes.begin(), bytes.end()})};
  given.card = mamelon::read_card(job.card);
  given.teeth.emplace_back();
  if (job.tooth.x > 0) given.teeth.front().at.point = job.tooth;
  if (ranked) given.tabs = mamelon::read_tab_set(job.tabs);
  return mamelon::solve(given);
}

double ms(const timeval& t) {
  return 1e3 * static_cast<double>(t.tv_sec) + 1e-3 * static_cast<double>(t.tv_usec);
}

// Runs `job` in a process of its own.
Cost in_a_process(const std::function<void()>& job) {
  const auto start = std::chrono::steady_clock::now();
  const pid_t child = fork();
  if (child < 0) throw std::runtime_error("fork failed");
  if (child == 0) {
    try {
      job();
    } catch (const std::exception& error) {
      std::fprintf(stderr, "%s\n", error.what());
      _exit(1);
    }
    _exit(0);
  }
  int status = 0;
  rusage used{};
  wait4(child, &status, 0, &used);
  const std::chrono::duration<double, std::milli> wall = std::chrono::steady_clock::now() - start;
  if (status != 0) throw std::runtime_error("a run failed");
  return {wall.count(), ms(used.ru_utime) + ms(used.ru_stime),
          static_cast<double>(used.ru_maxrss) / 1024};
}

double median(const std::vector<Cost>& costs, double Cost::*what) {
  std::vector<double> values;
  for (const Cost& cost : costs) values.push_back(cost.*what);
  std::sort(values.begin(), values.end());
  return values[values.size() / 2];
}

double least_wall(const std::vector<Cost>& costs) {
  return std::min_element(costs.begin(), costs.end(),
                          [](const Cost& a, const Cost& b) { return a.wall_ms < b.wall_ms; })
      ->wall_ms;
}

int run(const Job& job, int runs) {
  const auto size = decode(job.photo);
  const double pixels = static_cast<double>(size[0]) * static_cast<double>(size[1]);
  const std::array<const char*, 3> names = {"decode alone", "zone readings", "ranked tabs"};
  const std::array<std::function<void()>, 3> kinds = {[&] { (void)decode(job.photo); },
                                                      [&] { (void)solved(job, false); },
                                                      [&] { (void)solved(job, true); }};
  std::array<std::vector<Cost>, 3> costs;
  for (int i = 0; i < runs; ++i) {
    for (std::size_t k = 0; k < kinds.size(); ++k) costs[k].push_back(in_a_process(kinds[k]));
  }
  std::printf("%zu x %zu pixels, median of %d runs each\n", size[0], size[1], runs);
  std::printf("%-14s %9s %9s %9s %9s %12s %6s %6s\n", "", "wall ms", "least ms", "CPU ms",
              "peak MB", "B/px above", "ratio", "least");
  const double floor = median(costs[0], &Cost::wall_ms);
  const double least_floor = least_wall(costs[0]);
  for (std::size_t k = 0; k < kinds.size(); ++k) {
    const double peak = median(costs[k], &Cost::peak_mb);
    const double wall = median(costs[k], &Cost::wall_ms);
    std::printf("%-14s %9.1f %9.1f %9.1f %9.1f %12.2f %6.2f %6.2f\n", names[k], wall,
                least_wall(costs[k]), median(costs[k], &Cost::cpu_ms), peak,
                peak * 1048576 / pixels - 3, wall / floor, least_wall(costs[k]) / least_floor);
  }
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 4) {
    std::fprintf(stderr, "usage: %s PHOTO.jpg CARD.json TABS.json [X,Y] [runs]\n", argv[0]);
    return 2;
  }
  Job job{argv[1], argv[2], argv[3], {}};
  if (argc > 4) std::sscanf(argv[4], "%lf,%lf", &job.tooth.x, &job.tooth.y);
  try {
    return run(job, argc > 5 ? std::atoi(argv[5]) : 9);
  } catch (const std::exception& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 1;
  }
}
