#include <string>

#include "mamelon/provenance.h"

#include "cli/describe.h"

namespace mamelon::cli {
namespace {

// Text in which nothing means anything to the formatter.
std::string plain(const std::string& text) {
  std::string out;
  for (const char c : text) {
    if (c == '\\' || c == '-') out += '\\';
    if (c == '\\') {
      out += 'e';
      continue;
    }
    if ((c == '.' || c == '\'') && (out.empty() || out.back() == '\n')) out += "\\&";
    out += c;
  }
  return out;
}

void describe(const CLI::Option& option, std::string& out) {
  out += ".TP\n\\fB" + plain(option.get_name(false, true)) + "\\fR";
  if (option.get_type_size() > 0 && !option.get_type_name().empty()) {
    out += " \\fI" + plain(option.get_type_name()) + "\\fR";
  }
  out += "\n" + plain(option.get_description());
  if (option.get_required()) out += " (required)";
  if (!option.get_default_str().empty())
    out += " (default " + plain(option.get_default_str()) + ")";
  out += "\n";
}

void describe(const CLI::App& verb, const std::string& name, std::string& out) {
  out += ".SS " + plain(name) + "\n" + plain(verb.get_description()) + ".\n";
  for (const CLI::Option* option : verb.get_options()) {
    if (option->get_name(false, true) != "-h,--help") describe(*option, out);
  }
  if (!verb.get_footer().empty()) out += ".PP\n.nf\n" + plain(verb.get_footer()) + "\n.fi\n";
  for (const CLI::App* inner : verb.get_subcommands(nullptr)) {
    describe(*inner, name + " " + inner->get_name(), out);
  }
}

}  // namespace

std::string manual_page(const CLI::App& app) {
  std::string out = ".TH MAMELON 1 \"\" \"mamelon " + std::string(library_version()) +
                    "\" \"User commands\"\n.SH NAME\nmamelon \\- tooth shade and layering\n"
                    ".SH SYNOPSIS\n\\fBmamelon\\fR \\fIverb\\fR [\\fIoptions\\fR]\n"
                    ".SH DESCRIPTION\n" +
                    plain(app.get_description()) + "\n.SH VERBS\n";
  for (const CLI::App* verb : app.get_subcommands(nullptr)) {
    if (!verb->get_group().empty()) describe(*verb, verb->get_name(), out);
  }
  return out + ".SH EXIT STATUS\n.nf\n" + plain(app.get_footer()) + "\n.fi\n";
}

}  // namespace mamelon::cli
