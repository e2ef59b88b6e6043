#pragma once
// Long work away from the interpreter: without the GIL and open to Ctrl-C.

#include <atomic>
#include <condition_variable>
#include <exception>
#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <type_traits>
#include <utility>

#include <pybind11/pybind11.h>

#include "mamelon/progress.h"

namespace mamelon::python {

// Runs `work` on a thread of its own while the calling thread, if it is Python's main thread, looks
// for signals every 50 ms. After Ctrl-C the call raises KeyboardInterrupt at once; the work goes on
// unseen to its end, so it must own everything it touches and hold no Python object. The
// interpreter waits for such leftovers before it ends. On other threads `work` runs in place.
// Work that looks at `stopped`, which is then set, ends soon after.
void run_watched(std::function<void()> work,
                 const std::shared_ptr<std::atomic<bool>>& stopped = nullptr);
void bind_run(pybind11::module_& m);

// The same for work that can be told to stop: it gets a `Progress` that says no after Ctrl-C.
template <class Work>
requires std::is_invocable_v<Work, const Progress&>
auto interruptibly(Work work) {
  using Result = std::invoke_result_t<Work, const Progress&>;
  const auto result = std::make_shared<std::optional<Result>>();
  const auto stopped = std::make_shared<std::atomic<bool>>(false);
  run_watched([work = std::move(work), result,
               stopped] { result->emplace(work([&](double) { return !*stopped; })); },
              stopped);
  return std::move(**result);
}

template <class Work>
auto interruptibly(Work work) {
  using Result = std::invoke_result_t<Work>;
  const auto result = std::make_shared<std::optional<Result>>();
  run_watched([work = std::move(work), result] { result->emplace(work()); });
  return std::move(**result);
}

}  // namespace mamelon::python
