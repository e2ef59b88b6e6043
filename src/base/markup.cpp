#include "base/markup.h"

namespace mamelon::detail {

void append_escaped(std::string& out, char byte) {
  switch (byte) {
    case '&':
      out += "&amp;";
      break;
    case '<':
      out += "&lt;";
      break;
    case '>':
      out += "&gt;";
      break;
    case '"':
      out += "&quot;";
      break;
    case '\'':
      out += "&#39;";
      break;
    default:
      out += byte;
  }
}

}  // namespace mamelon::detail
