#pragma once
// What every engine asks of a stack.

#include <string>

#include "mamelon/stack.h"

namespace mamelon::detail {

// Throws as `predict(const Stack&)` says.
void check_stack(const Stack& stack);

// The same for its parts: the floor, and one layer, whose thickness is added to the total.
void check_floor(const Reflectance& floor);
void add_thickness(double thickness_mm, const std::string& where, double& total_mm);

}  // namespace mamelon::detail
