// `mamelon card --history`: which patches of a card have changed.

#include "cli/card_history_verb.h"

#include <span>
#include <string_view>

#include "mamelon/mamelon.h"

#include "base/numbers.h"
#include "cli/print.h"
#include "cli/progress.h"
#include "cli/shared_options.h"
#include "cli/terminal.h"
#include "cli/verbs.h"

namespace mamelon::cli {
namespace {

// [DAY=]FILE: a kept fit, or a photo with the card in it.
CardVisit visit_argument(const std::string& text, const PhotoOptionsText& photo,
                         const Viewing& viewing) {
  CardVisit visit;
  std::string file = text;
  constexpr std::size_t day = std::string_view("YYYY-MM-DD").size();
  if (text.size() > day && text[day] == '=' && text[4] == '-') {
    visit.day = text.substr(0, day);
    file = text.substr(day + 1);
  }
  const std::string content = read_file(file, limits::photo_bytes);
  const std::size_t start = content.find_first_not_of(" \t\r\n");
  if (start != std::string::npos && content[start] == '{') {
    visit.fit = parse_kept_fit(content, file);
    return visit;
  }
  if (photo.card.empty()) {
    throw ArgumentError("--history: a photo needs --card FILE, the reference card in it");
  }
  const Photo decoded = decode_photo(std::as_bytes(std::span(content)), file,
                                     {.camera_rendering = photo.camera_rendering});
  visit.fit = keep(fit_card(decoded, read_card(photo.card), viewing, fit_options(photo)));
  return visit;
}

std::string history_text(const Terminal& terminal, const CardHistory& history) {
  using detail::format_fixed;
  std::vector<std::vector<std::string>> rows;
  std::size_t changed = 0;
  for (const PatchHistory& patch : history.patches) {
    changed += patch.changed ? 1U : 0U;
    rows.push_back({patch.name, patch.changed ? "changed" : "", format_fixed(patch.de00, 2),
                    format_fixed(patch.de00_u95, 2), format_fixed(patch.change[0], 2),
                    format_fixed(patch.change[1], 2), format_fixed(patch.change[2], 2)});
  }
  return paragraph(terminal,
                   "Card " + history.card + ", " + std::to_string(history.days.size()) +
                       " photos from " + history.days.front() + " to " + history.days.back() +
                       ": " +
                       (changed == 0 ? "no patch is shown to have changed"
                                     : std::to_string(changed) + " of " +
                                           std::to_string(rows.size()) + " patches changed") +
                       " (of cards as they were, at most " +
                       format_fixed(100 * history.false_alarm_rate, 0) + " % are called changed)") +
         table(terminal,
               {"patch", "", right("ΔE00"), right("within"), right("ΔL*"), right("Δa*"),
                right("Δb*")},
               rows);
}

}  // namespace

int show_card_history(const std::vector<std::string>& files, const PhotoOptionsText& photo,
                      bool json) {
  const Viewing viewing = viewing_of(photo.viewing);
  std::vector<CardVisit> visits;
  {
    Progress progress;
    for (std::size_t i = 0; i < files.size(); ++i) {
      progress.at(static_cast<double>(i) / static_cast<double>(files.size()), "reading the card");
      visits.push_back(visit_argument(files[i], photo, viewing));
    }
  }
  const CardHistory history = card_history(visits, viewing);
  print_warnings(history.warnings);
  if (json) {
    print(to_json(history));
  } else {
    print(history_text(Terminal::of_stdout(), history));
  }
  return exit_code::done;
}

}  // namespace mamelon::cli
