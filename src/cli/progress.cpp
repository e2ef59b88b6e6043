#include "cli/progress.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <iostream>

#include <sys/ioctl.h>
#include <unistd.h>

#include "base/numbers.h"

namespace mamelon::cli {
namespace {

constexpr std::chrono::milliseconds before_the_first{1000};
constexpr std::chrono::milliseconds between{200};
constexpr const char* clear = "\r\x1b[K";

std::size_t width_of_stderr() {
  winsize size{};
  constexpr std::size_t otherwise = 80;
  return ::ioctl(STDERR_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0 ? size.ws_col
                                                                           : otherwise;
}

}  // namespace

std::string progress_line(double share, const std::string& what, double elapsed_s,
                          std::size_t width) {
  constexpr std::size_t longest_bar = 24;
  const std::string time = " " + detail::format_fixed(elapsed_s, 0) + " s ";
  // The last column stays free: a terminal would break the line after it.
  const std::size_t room = width > time.size() + 12 ? width - time.size() - 3 : 10;
  const std::size_t bar = std::min(longest_bar, room / 2);
  const auto full =
      static_cast<std::size_t>(std::lround(std::clamp(share, 0.0, 1.0) * static_cast<double>(bar)));
  std::string line = "[" + std::string(full, '#') + std::string(bar - full, '-') + "]" + time;
  const std::size_t left = width > line.size() + 1 ? width - line.size() - 1 : 0;
  return line + what.substr(0, left);
}

Progress::Progress(bool wanted) {
  if (!wanted || ::isatty(STDERR_FILENO) != 1) return;
  drawer_ = std::thread([this] { draw(); });
}

Progress::~Progress() {
  if (!drawer_.joinable()) return;
  {
    const std::lock_guard lock(mutex_);
    over_ = true;
  }
  ended_.notify_all();
  drawer_.join();
}

void Progress::at(double share, const std::string& what) {
  const std::lock_guard lock(mutex_);
  share_ = share;
  what_ = what;
}

void Progress::say(const std::string& line) {
  const std::lock_guard lock(mutex_);
  std::cerr << (drawn_ ? clear : "") << line << '\n' << std::flush;
  drawn_ = false;
}

void Progress::draw() {
  const auto start = std::chrono::steady_clock::now();
  std::unique_lock lock(mutex_);
  if (ended_.wait_for(lock, before_the_first, [this] { return over_; })) return;
  do {
    const std::chrono::duration<double> elapsed = std::chrono::steady_clock::now() - start;
    drawn_ = true;
    std::cerr << clear << progress_line(share_, what_, elapsed.count(), width_of_stderr())
              << std::flush;
  } while (!ended_.wait_for(lock, between, [this] { return over_; }));
  if (drawn_) std::cerr << clear << std::flush;
}

}  // namespace mamelon::cli
