#pragma once
// What the page shows of a report, as JSON.

#include "page/case_from_page.h"

namespace mamelon::page {

Json shown(const Report& report);
// A plan with the colour that shows when each layer is on.
Json shown(const Plan& plan, const PlanRequest& request, std::size_t index);
// A try-in of the report's first tooth.
Json shown(const TryInReport& found, const Report& report);
Json shown(const CardFit& fit);
Json shown(const ToothInView& tooth);
Json shown(const Calibration& calibration);

}  // namespace mamelon::page
