#include "mamelon/discs.h"

#include <vector>

#include "mamelon/error.h"

#include "capture/correction.h"

namespace mamelon {

JointLab read_discs(const Photo& photo, const CardFit& fit, std::span<const BoxPx> boxes) {
  const auto* correction = dynamic_cast<const detail::FittedCorrection*>(fit.correction.get());
  if (correction == nullptr) throw ArgumentError("the card fit holds no correction of a card");
  check_belongs(photo, fit, "reading discs");
  std::vector<Signal> signals;
  for (const BoxPx& box : boxes) {
    signals.push_back(box_signal(photo, box, SurfaceKind::restoration));
  }
  return correction->on_bench(signals);
}

}  // namespace mamelon
