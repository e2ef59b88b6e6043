#pragma once
// What a reader of measurements must keep: what was read writes, and reads back the same.

#include <string>

#include "mamelon/error.h"
#include "mamelon/files.h"

#include "input.h"

namespace fuzz {

template <class Write>
void read_write_read(const std::string& bytes, const Write& write) {
  static const mamelon::Viewing viewing = mamelon::viewing_from_string("D50/2");
  std::string written;
  try {
    written = write(mamelon::parse_measurements(bytes, "input", viewing));
  } catch (const mamelon::Error&) {
    return;
  }
  // Outside the block above: what the writer made must be readable.
  if (write(mamelon::parse_measurements(written, "written", viewing)) != written) __builtin_trap();
}

}  // namespace fuzz
