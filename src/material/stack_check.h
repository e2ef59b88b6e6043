#pragma once
// What every engine asks of a stack.

#include "mamelon/stack.h"

namespace mamelon::detail {

// Throws as `predict(const Stack&)` says.
void check_stack(const Stack& stack);

}  // namespace mamelon::detail
