#pragma once
/// @file
/// The sheet: one self-contained HTML page of a report.

#include <string>

#include "mamelon/files.h"
#include "mamelon/paste_report.h"

namespace mamelon {

/// The page as HTML, without scripts, network references, file paths or photo metadata.
[[nodiscard]] std::string sheet_html(const Report& report);

/// The same for the audit of a tab set.
[[nodiscard]] std::string sheet_html(const AuditReport& report);

/// The technician's sheet of a calibration: tabs, readings set aside, where the spread comes from.
[[nodiscard]] std::string sheet_html(const Calibration& calibration);

/// The table from tab to paste.
[[nodiscard]] std::string sheet_html(const CrosswalkReport& report);

/// The technician's sheet of a paste: constants, fit, translucency, what to do.
[[nodiscard]] std::string sheet_html(const FitReport& report);

}  // namespace mamelon
