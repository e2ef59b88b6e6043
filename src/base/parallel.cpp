#include "base/parallel.h"

#include <algorithm>
#include <atomic>
#include <charconv>
#include <cstdlib>
#include <exception>
#include <mutex>
#include <string>
#include <string_view>
#include <thread>
#include <vector>

#include "mamelon/error.h"

#include "base/stop.h"

namespace mamelon::detail {
namespace {

// std::jthread is not in every standard library yet.
struct Team {
  std::vector<std::thread> threads;
  Team() = default;
  Team(const Team&) = delete;
  Team& operator=(const Team&) = delete;
  ~Team() {
    for (std::thread& one : threads) one.join();
  }
};

}  // namespace

std::size_t default_threads() {
  const char* wanted = std::getenv("MAMELON_THREADS");
  if (wanted == nullptr) return std::max(1U, std::thread::hardware_concurrency());
  constexpr std::size_t most = 1024;
  const std::string_view text(wanted);
  std::size_t threads = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), threads);
  if (error != std::errc() || end != text.data() + text.size() || threads < 1 || threads > most) {
    throw ArgumentError("MAMELON_THREADS is \"" + printable(text) +
                        "\"; give a whole number from 1 to " + std::to_string(most));
  }
  return threads;
}

void parallel_for(std::size_t count, std::size_t chunk,
                  const std::function<void(std::size_t, std::size_t)>& body, std::size_t threads) {
  if (count == 0) return;
  chunk = std::max<std::size_t>(chunk, 1);
  const std::size_t chunks = (count + chunk - 1) / chunk;
  threads = std::min(threads == 0 ? default_threads() : threads, chunks);

  std::atomic<std::size_t> next{0};
  std::exception_ptr failure;
  std::mutex failure_guard;
  const std::atomic<bool>* const stop = stop_flag();
  const auto work = [&] {
    const StopScope scope(stop);
    for (std::size_t i = next++; i < chunks; i = next++) {
      try {
        stop_if_asked();
        body(i * chunk, std::min(count, (i + 1) * chunk));
      } catch (...) {
        const std::scoped_lock lock(failure_guard);
        if (!failure) failure = std::current_exception();
        next = chunks;
      }
    }
  };
  {
    Team team;
    for (std::size_t i = 1; i < threads; ++i) team.threads.emplace_back(work);
    work();
  }
  if (failure) std::rethrow_exception(failure);
}

}  // namespace mamelon::detail
