#pragma once
// How far a long piece of work is, on standard error.

#include <condition_variable>
#include <mutex>
#include <string>
#include <thread>

namespace mamelon::cli {

// Draws a bar once the work has taken a second, and takes it away at the end. Draws nothing unless
// it is `wanted` and standard error is a terminal.
class Progress {
 public:
  explicit Progress(bool wanted = true);
  ~Progress();
  Progress(const Progress&) = delete;
  Progress& operator=(const Progress&) = delete;

  // What is being done, and the share of the whole that is done already, 0–1.
  void at(double share, const std::string& what);
  // A line of text on standard error, in place of the bar until it is drawn again.
  void say(const std::string& line);

 private:
  void draw();

  std::mutex mutex_;
  std::condition_variable ended_;
  bool over_ = false;
  bool drawn_ = false;
  double share_ = 0;
  std::string what_;
  std::thread drawer_;
};

// The line of a bar: no wider than `width` columns.
std::string progress_line(double share, const std::string& what, double elapsed_s,
                          std::size_t width);

}  // namespace mamelon::cli
