#pragma once
/// @file
/// Pastes as they look after a change that was read of their specimens.

#include <string>
#include <vector>

#include "mamelon/paste.h"

namespace mamelon {

/// The paste after its shift `name`, with constants under which its specimen has the changed
/// colour: ln absorption moves along a smooth curve, and ln scattering by as much as ln absorption
/// does at all bands together, the other way; this split is an assumption that holds the better the
/// nearer a layer is to the specimen. The spread of the shift joins the modes of the transport
/// constants, so that layers of one paste err together; of two fluxes it widens
/// `Paste::reflectance_sd`. Both engines are moved. Throws ArgumentError where the paste has no
/// such shift, ModelError where no constants give it.
[[nodiscard]] Paste shifted(const Paste& paste, const std::string& name);

/// The set after `name`. A paste that states no such shift is left as it is, and `warnings` names
/// it. Throws ArgumentError where none states it; as the above.
[[nodiscard]] PasteSet shifted(PasteSet set, const std::string& name,
                               std::vector<std::string>& warnings);

}  // namespace mamelon
