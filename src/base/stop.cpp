#include "base/stop.h"

#include <utility>

#include "mamelon/error.h"

namespace mamelon::detail {
namespace {

thread_local const std::atomic<bool>* innermost = nullptr;

}  // namespace

StopScope::StopScope(const std::atomic<bool>* asked) noexcept
    : outer_(std::exchange(innermost, asked)) {}

StopScope::~StopScope() {
  innermost = outer_;
}

const std::atomic<bool>* stop_flag() noexcept {
  return innermost;
}

void stop_if_asked() {
  if (innermost != nullptr && innermost->load(std::memory_order_relaxed)) {
    throw StoppedError("the work was stopped by its caller");
  }
}

}  // namespace mamelon::detail
