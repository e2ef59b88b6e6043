// `mamelon study`, `case …`, `follow` and `tabs align`. The work is that of the Python package's
// mamelon.study and mamelon.practice; these verbs say how to call it, and call it.

#include <map>
#include <memory>
#include <string>
#include <vector>

#include "cli/python_package.h"
#include "cli/verbs.h"

namespace mamelon::cli {
namespace {

// Modules of the package whose `main` does the work.
constexpr const char* study = "mamelon.study.__main__";
constexpr const char* practices = "mamelon.practice.__main__";

// One word of a verb: an argument where the name has no dashes, a flag where it has no type.
struct Word {
  const char* name;
  const char* type;
  const char* help;
  bool needed = false;
  bool many = false;
  const char* standard = "";  // what holds where it is not given
};

struct Verb {
  const char* name;
  const char* help;
  std::vector<Word> words;
  const char* example;
  const char* json = "One JSON document on standard output";
  const char* note = "";  // before the example
};

constexpr Word practice{"PRACTICE", "FOLDER", "The practice's folder", true};
constexpr Word kept_case{"CASE", "ID", "The case, as `mamelon case list` names it", true};
constexpr Word date{"--date", "DATE", "Day of it, as 2026-11-28; today where it is not given"};
constexpr Word camera{"--camera", "NAME",
                      "Name of the camera or instrument, as its outcomes are told apart"};

const std::vector<Verb>& case_verbs() {
  static const std::vector<Verb> verbs = {
      {"add",
       "Plans a saved case with what the practice has learnt, and keeps it",
       {practice,
        {"CASE", "FILE", "The case (zip), as `mamelon plan --save` writes it", true},
        {"--person", "CODE", "The practice's code of the person, not a name", true},
        {"--tooth", "N", "Tooth in ISO 3950, where the case does not say"},
        {"--operator", "NAME", "Who places the layers"},
        camera,
        {"--lot", "PASTE=LOT", "Lot of a paste; repeatable", false, true},
        {"--layer", "PASTE=MM",
         "Layers from the floor outward, where others are placed than recommended; repeatable",
         false, true},
        date,
        {"--without-learning", nullptr, "Plan as the pastes' documents say"}},
       "mamelon case add practice case.zip --person P017 --tooth 21 --operator ann --lot loam=7"},
      {"plan",
       "The plan of a kept case again, with what was known on its day",
       {practice, kept_case},
       "mamelon case plan practice 21-44006b4a83be8fa5"},
      {"check",
       "A try-in or finished restoration beside its target and its prediction",
       {practice,
        kept_case,
        {"--tooth", "N", "Tooth that was read, in ISO 3950", true},
        {"--stage", "STAGE", "try_in or finished", true},
        {"--surface", "STATE", "wet, as saliva leaves it, or dry", true},
        {"--cured", "ANSWER", "Whether the paste is cured: yes or no", true},
        {"--lab", "L,a,b", "What an instrument read, with or without its standard deviations"},
        {"--photo", "FILE", "A photo with the card in it, in place of --lab"},
        {"--card", "FILE", "With --photo: the card that stands in it"},
        {"--at", "X,Y", "With --photo: a point on the tooth, in pixels"},
        camera,
        date,
        {"--not-kept", nullptr, "Compare only: keep nothing, learn nothing"}},
       "mamelon case check practice 21-44006b4a83be8fa5 --tooth 21 --stage try_in --surface wet "
       "--cured yes --lab 75.8,1.6,19.6"},
      {"list",
       "The cases kept, the latest first",
       {practice,
        {"--person", "CODE", "Those of one person"},
        {"--most", "N", "How many to list; 50 where it is not given"}},
       "mamelon case list practice --person P017"},
      {"show",
       "All that is kept of one case",
       {practice, kept_case},
       "mamelon case show practice 21-44006b4a83be8fa5"},
      {"export",
       "One table of all cases and outcomes",
       {practice,
        {"--output", "FILE", "Table to write: .csv, or .parquet (needs pandas and PyArrow)", true},
        {"--anonymised", nullptr,
         "Everything numbered anew, and days in place of dates: nothing that could be traced"},
        {"--plain-csv", nullptr,
         "No apostrophe before cells that a spreadsheet would run as formulas"}},
       "mamelon case export practice --output cases.csv --anonymised"},
      {"erase",
       "Removes everything of one person",
       {practice,
        {"--person", "CODE", "Whose cases, photos and readings go", true},
        {"--yes", nullptr, "It cannot be undone: say so"}},
       "mamelon case erase practice --person P017 --yes"},
      {"rebuild",
       "Makes the index again from the cases",
       {practice},
       "mamelon case rebuild practice"},
      {"calibration",
       "How often what was stated held, of all cases with an outcome",
       {practice, {"--plot", "FILE", "Figure to write: .png, .svg or .pdf (needs matplotlib)"}},
       "mamelon case calibration practice --plot held.svg"},
      {"learned",
       "What the outcomes have taught so far of pastes, operators and cameras",
       {practice},
       "mamelon case learned practice"},
      {"paper",
       "What a paper has to say of how colour was measured, as a table and a paragraph",
       {practice,
        kept_case,
        {"--instrument", "TEXT", "What read it"},
        {"--geometry", "TEXT", "Such as 45/0"},
        {"--backing", "TEXT", "What stood behind the specimens"},
        {"--aperture", "TEXT", "Such as 3 mm"},
        {"--repeats", "FILE", "Repeat readings of one specimen, for the repeatability"},
        {"--gingiva", nullptr, "Judged by the thresholds of gingiva"}},
       "mamelon case paper practice 21-44006b4a83be8fa5 --geometry 45/0 --repeats repeats.csv"}};
  return verbs;
}

const Verb& follow_verb() {
  static const Verb verb = {
      "follow",
      "The same tooth over visits: what changed, and whether it can be seen",
      {practice,
       kept_case,
       {"--add", "FILE", "Readings of one visit, labelled by their tooth such as 21"},
       {"--reference", "TEETH",
        "Teeth that nothing was done to, such as 12,22: they tell the "
        "camera's shift"},
       {"--translucency", "TOOTH=TP", "Translucency parameter of a tooth; repeatable", false, true},
       camera,
       {"--treatment", "TEXT", "What was done before this visit"},
       date,
       {"--plot", "FILE", "Figure to write: .png, .svg or .pdf (needs matplotlib)"}},
      "mamelon follow practice 21-44006b4a83be8fa5 --add visit2.csv --reference 12,22"};
  return verb;
}

const Verb& align_verb() {
  static const Verb verb = {
      "align",
      "Instruments that read the same specimens, brought into line",
      {{"NAME=FILE", "TEXT", "Repeat readings of the specimens by each instrument", true, true},
       {"--reference", "NAME", "Whose readings count; the consensus of all where it is not given"},
       {"--aperture", "NAME=MM", "Aperture of an instrument; repeatable", false, true},
       {"--translucency", "LABEL=TP;…", "Translucency parameter of every specimen"},
       {"--viewing", "ILL/OBS", "Of readings that do not say; D65/2 where it is not given"},
       {"--out", "FILE", "Write the lines (JSON document) to this file"}},
      "mamelon tabs align booth=booth.csv clinic=clinic.csv lab=lab.csv --reference lab"};
  return verb;
}

const Verb& study_verb() {
  static const Verb verb = {
      "study",
      "A manifest of many photos or readings to one table, parallel and resumable",
      {{"MANIFEST", "FILE",
        "CSV with a column item and, a row, photo and card, or L,a,b, or curve, or case; other "
        "columns are covariates",
        true},
       {"--tabs", "FILE", "Your measured tabs (JSON document); repeatable", true, true},
       {"--output", "FILE", "Table to write: .csv, or .parquet (needs pandas)", true},
       {"--card", "FILE", "Card of the photos whose row names none"},
       {"--like", "CASE",
        "A saved case that every item takes what it does not state from: the card, and "
        "what is to be placed over which floor"},
       {"--viewing", "ILL/OBS", "Illuminant and observer (2 or 10 degrees) of every colour", false,
        false, "D65/2"},
       {"--rows", "WHAT", "summary: one row a zone, with its nearest tab; tabs: one row a tab",
        false, false, "summary"},
       {"--weights", "L:C:H", "kL:kC:kH of CIEDE2000; 1:1:1 or 2:1:1", false, false, "1:1:1"},
       {"--prior", "generated|none|FILE",
        "What is known of teeth before one is read: generated, none, or a table of your "
        "own teeth; that of an item's case or of --like unless given"},
       {"--draws", "N", "Size of the sample behind chances and intervals", false, false, "4096"},
       {"--seed", "N", "Seed of that sample", false, false, "1"},
       {"--margin", "MM", "Rim of the tooth to leave out, in mm", false, false, "0.4"},
       {"--camera-rendering", nullptr,
        "Photos have a camera's own tone curve: learn it from the card's greys"},
       {"--processes", "N", "Worker processes; all processors when not given"},
       {"--fresh", nullptr, "Start again; do not go on where a study was stopped"},
       {"--plain-csv", nullptr,
        "No apostrophe before cells of the CSV that a spreadsheet would run as formulas"},
       {"--quiet", nullptr, "No progress bar"}},
      "mamelon study manifest.csv --tabs data/tabs/orchard16.json --output study.csv",
      "The record of the study on standard output",
      "The exit code is 1 when every item failed and 130 when interrupted: run the same command "
      "again to go on. "};
  return verb;
}

// What was given, as the package's parser takes it.
struct Given {
  std::map<std::string, std::string> one;
  std::map<std::string, std::vector<std::string>> many;
  std::map<std::string, bool> flags;
  std::map<std::string, const CLI::Option*> options;
};

int run(const std::vector<std::string>& path, const std::string& module, const Verb& verb,
        const Given& given) {
  // The package's study is a command of its own and takes no word for itself.
  std::vector<std::string> words = module == study ? std::vector<std::string>() : path;
  for (const Word& word : verb.words) {
    const std::string name = word.name;
    if (word.type == nullptr) {
      if (given.flags.at(name)) words.push_back(name);
      continue;
    }
    if (given.options.at(name)->count() == 0) continue;
    const std::vector<std::string> values =
        word.many ? given.many.at(name) : std::vector{given.one.at(name)};
    for (const std::string& value : values) {
      words.push_back(name.starts_with("--") ? name + "=" + value : value);
    }
  }
  if (given.flags.at("--json")) words.emplace_back("--json");
  run_python(path.front() + (path.size() > 1 ? " " + path[1] : ""), module, words);
}

void add_verb(CLI::App& app, Action& chosen, std::vector<std::string> path,
              const std::string& module, const Verb& verb) {
  CLI::App* made = app.add_subcommand(verb.name, verb.help);
  const auto given = std::make_shared<Given>();
  for (const Word& word : verb.words) {
    if (word.type == nullptr) {
      made->add_flag(word.name, given->flags[word.name], word.help);
      continue;
    }
    CLI::Option* option = word.many ? made->add_option(word.name, given->many[word.name], word.help)
                                    : made->add_option(word.name, given->one[word.name], word.help);
    option->required(word.needed)->type_name(word.type)->default_str(word.standard);
    if (word.many && *word.name == '-') option->allow_extra_args(module == study);
    given->options[word.name] = option;
  }
  made->add_flag("--json", given->flags["--json"], verb.json);
  made->footer(std::string(verb.note) +
               "Needs Python with the package mamelon; MAMELON_PYTHON names another "
               "interpreter.\n\nExample:\n  " +
               verb.example);
  path.emplace_back(verb.name);
  made->callback([path, module, verb, given, &chosen] {
    chosen = [path, module, verb, given] { return run(path, module, verb, *given); };
  });
}

}  // namespace

void add_python_verbs(CLI::App& app, Action& chosen) {
  add_verb(app, chosen, {}, study, study_verb());
  CLI::App* cases = app.add_subcommand(
      "case", "A practice's cases: kept, compared with what came of them, learnt from");
  cases->require_subcommand(1);
  cases->footer(
      "A practice is a folder on your own disk. Nothing leaves the machine and nothing is "
      "encrypted: keep the folder on an encrypted disk.");
  for (const Verb& verb : case_verbs()) add_verb(*cases, chosen, {"case"}, practices, verb);
  add_verb(app, chosen, {}, practices, follow_verb());
}

void add_align(CLI::App& tabs, Action& chosen) {
  add_verb(tabs, chosen, {"tabs"}, practices, align_verb());
}

}  // namespace mamelon::cli
