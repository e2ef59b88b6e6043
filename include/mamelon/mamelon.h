#pragma once
/// @file
/// The whole library, in layer order.

// clang-format off
#include "mamelon/description.h"
#include "mamelon/error.h"
#include "mamelon/limits.h"
#include "mamelon/measured.h"
#include "mamelon/progress.h"
#include "mamelon/provenance.h"

#include "mamelon/spectrum.h"
#include "mamelon/colour.h"
#include "mamelon/viewing.h"
#include "mamelon/difference.h"
#include "mamelon/appearance.h"
#include "mamelon/batch.h"

#include "mamelon/reading.h"

#include "mamelon/image.h"
#include "mamelon/card.h"
#include "mamelon/kept_fit.h"
#include "mamelon/card_history.h"
#include "mamelon/discs.h"
#include "mamelon/profile.h"
#include "mamelon/region.h"
#include "mamelon/zones.h"
#include "mamelon/layout.h"
#include "mamelon/preview.h"

#include "mamelon/tabs.h"
#include "mamelon/match.h"
#include "mamelon/calibrate.h"
#include "mamelon/transfer.h"
#include "mamelon/population.h"
#include "mamelon/audit.h"

#include "mamelon/paste.h"
#include "mamelon/stack.h"
#include "mamelon/transport.h"
#include "mamelon/drawdown.h"
#include "mamelon/opacity.h"
#include "mamelon/shift.h"

#include "mamelon/plan.h"
#include "mamelon/crosswalk.h"

#include "mamelon/case.h"
#include "mamelon/report.h"
#include "mamelon/solve.h"
#include "mamelon/outcome.h"

#include "mamelon/files.h"
#include "mamelon/exchange.h"
#include "mamelon/card_report.h"
#include "mamelon/paste_report.h"
#include "mamelon/sheet.h"
// clang-format on
