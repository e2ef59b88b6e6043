#pragma once
// Loops over threads whose results never depend on how many threads there are.

#include <cstddef>
#include <functional>
#include <future>

namespace mamelon::detail {

// Threads that `parallel_for` uses when told 0: as many as the environment variable
// MAMELON_THREADS says, else the machine's. Throws ArgumentError when it is not a number 1–1024.
std::size_t default_threads();

// Calls body(begin, end) for every chunk of [0, count). Chunks have a fixed size, so a body that
// writes only to its own range, or to a slot of its own chunk, gives the same bits for any number
// of threads. The first exception thrown by a body is thrown again here.
void parallel_for(std::size_t count, std::size_t chunk,
                  const std::function<void(std::size_t begin, std::size_t end)>& body,
                  std::size_t threads = 0);

// How std::async does work beside its caller's: on a thread of its own where there are threads (a
// page opened as a file has none), else when its result is asked for.
#ifdef __EMSCRIPTEN__
inline constexpr std::launch beside = std::launch::deferred;
#else
inline constexpr std::launch beside = std::launch::async;
#endif

}  // namespace mamelon::detail
