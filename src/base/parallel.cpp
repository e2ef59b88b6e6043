#include "base/parallel.h"

#include <algorithm>
#include <atomic>
#include <exception>
#include <mutex>
#include <thread>
#include <vector>

namespace mamelon::detail {

std::size_t default_threads() {
  return std::max(1U, std::thread::hardware_concurrency());
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
  const auto work = [&] {
    for (std::size_t i = next++; i < chunks; i = next++) {
      try {
        body(i * chunk, std::min(count, (i + 1) * chunk));
      } catch (...) {
        const std::scoped_lock lock(failure_guard);
        if (!failure) failure = std::current_exception();
        next = chunks;
      }
    }
  };
  {
    std::vector<std::jthread> team;
    for (std::size_t i = 1; i < threads; ++i) team.emplace_back(work);
    work();
  }
  if (failure) std::rethrow_exception(failure);
}

}  // namespace mamelon::detail
