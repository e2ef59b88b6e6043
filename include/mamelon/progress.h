#pragma once
/// @file
/// How long work tells what it has done, and how it is stopped.

#include <functional>

namespace mamelon {

/// Called now and then by long work with the share done, 0 to 1, never falling; returns whether to
/// go on. Work that runs on several threads calls it from one at a time, but from any of them. An
/// empty function means: go on to the end. Work that is told to stop throws StoppedError.
using Progress = std::function<bool(double share_done)>;

}  // namespace mamelon
