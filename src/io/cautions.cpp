#include "mamelon/files.h"

namespace mamelon {

const std::vector<std::string>& cautions() {
  static const std::vector<std::string> all = {
      "Take the shade before isolation and within a minute: after one minute of drying 87 % of "
      "teeth differ visibly from before (Suliman et al. 2019, J Esthet Restor Dent 31:118–123).",
      "Confirm with a try-in of the chosen paste on the tooth, cured and not bonded, before "
      "you commit: cured, not uncured, material was modelled.",
      "Follow the paste maker's instructions for increment thickness and exposure; they come "
      "before what stands here.",
      "A curing light can harm eyes and heat the pulp: shield eyes, cool, and keep to its "
      "maker's instructions.",
      "The photo and this sheet are patient data: keep them as your rules for records ask.",
      "Not a diagnosis. The licensed dentist decides, under local rules.",
  };
  return all;
}

}  // namespace mamelon
