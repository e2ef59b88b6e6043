#pragma once
// Text within XML and HTML.

#include <string>

namespace mamelon::detail {

// Appends one byte of a text; characters that markup keeps for itself become entities.
void append_escaped(std::string& out, char byte);

}  // namespace mamelon::detail
