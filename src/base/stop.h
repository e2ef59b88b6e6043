#pragma once
// Long work that somebody else can end: loops ask now and then whether they are still wanted.

#include <atomic>

namespace mamelon::detail {

// While it lives, work on this thread, and on threads that `parallel_for` starts for it, ends once
// `asked` is true. Scopes nest: the innermost counts. `asked` null: work that nobody stops.
class StopScope {
 public:
  explicit StopScope(const std::atomic<bool>* asked) noexcept;
  StopScope(const StopScope&) = delete;
  StopScope& operator=(const StopScope&) = delete;
  ~StopScope();

 private:
  const std::atomic<bool>* outer_;
};

// The flag of the innermost scope on this thread; null where there is none.
const std::atomic<bool>* stop_flag() noexcept;

// Throws StoppedError where the innermost scope was asked to stop. `parallel_for` asks before every
// chunk; a long loop of its own asks every few milliseconds of work.
void stop_if_asked();

}  // namespace mamelon::detail
