#include <algorithm>
#include <string>
#include <vector>

#include "mamelon/error.h"

#include "cli/describe.h"

namespace mamelon::cli {
namespace {

struct Flag {
  std::string name;  // with its dashes
  std::string description;
  bool takes_value = false;
  bool takes_file = false;
};

struct Verb {
  std::string path;  // words after the command, with spaces between them
  std::string description;
  std::vector<Flag> flags;
  std::vector<std::string> inner;
};

// Quoted for a single-quoted word of a shell.
std::string quoted(const std::string& text) {
  std::string out;
  for (const char c : text) out += c == '\'' ? std::string("’") : std::string(1, c);
  return out;
}

void collect(const CLI::App& app, const std::string& path, std::vector<Verb>& verbs) {
  Verb verb{path, quoted(app.get_description()), {}, {}};
  for (const CLI::Option* option : app.get_options()) {
    const bool value = option->get_type_size() > 0;
    for (const std::string& name : option->get_lnames()) {
      verb.flags.push_back({"--" + name, quoted(option->get_description()), value,
                            value && option->get_type_name().find("FILE") != std::string::npos});
    }
  }
  for (const CLI::App* inner : app.get_subcommands(nullptr)) {
    if (!inner->get_group().empty()) verb.inner.push_back(inner->get_name());
  }
  verbs.push_back(verb);
  for (const CLI::App* inner : app.get_subcommands(nullptr)) {
    if (inner->get_group().empty()) continue;
    collect(*inner, path.empty() ? inner->get_name() : path + " " + inner->get_name(), verbs);
  }
}

std::string bash(const std::vector<Verb>& verbs) {
  std::string out =
      "_mamelon() {\n  local word=${COMP_WORDS[COMP_CWORD]} path= i\n"
      "  for ((i = 1; i < COMP_CWORD; i++)); do\n    case \"$path ${COMP_WORDS[i]}\" in\n";
  for (const Verb& verb : verbs) {
    if (!verb.path.empty()) out += "      ' " + verb.path + "') path=' " + verb.path + "' ;;\n";
  }
  out += "    esac\n  done\n  local words=\n  case \"$path\" in\n";
  for (const Verb& verb : verbs) {
    out += "    '" + (verb.path.empty() ? "" : " " + verb.path) + "') words='";
    for (const std::string& inner : verb.inner) out += inner + " ";
    for (const Flag& flag : verb.flags) out += flag.name + " ";
    out += "' ;;\n";
  }
  return out +
         "  esac\n  COMPREPLY=()\n"
         "  if [[ $word == -* || $path == '' || $path == ' tabs' || $path == ' paste' || $path == "
         "' case' ]]; then\n"
         "    mapfile -t COMPREPLY < <(compgen -W \"$words\" -- \"$word\")\n  fi\n"
         "  if [[ ${#COMPREPLY[@]} -eq 0 ]]; then\n"
         "    mapfile -t COMPREPLY < <(compgen -f -- \"$word\")\n  fi\n}\n"
         "complete -o filenames -F _mamelon mamelon\n";
}

std::string fish(const std::vector<Verb>& verbs) {
  std::string out;
  for (const Verb& verb : verbs) {
    const bool root = verb.path.empty();
    std::string when = root ? "not __fish_seen_subcommand_from" : "";
    if (root) {
      for (const std::string& name : verb.inner) when += " " + name;
    }
    std::string rest = verb.path;
    while (!rest.empty()) {
      const auto end = std::min(rest.find(' '), rest.size());
      when +=
          (when.empty() ? "" : "; and ") + ("__fish_seen_subcommand_from " + rest.substr(0, end));
      rest.erase(0, end + 1);
    }
    const std::string condition = " -n '" + when + "'";
    for (const std::string& inner : verb.inner) {
      for (const Verb& other : verbs) {
        if (other.path != (root ? inner : verb.path + " " + inner)) continue;
        out += "complete -c mamelon" + condition + " -f -a " + inner + " -d '" + other.description +
               "'\n";
      }
    }
    for (const Flag& flag : verb.flags) {
      out += "complete -c mamelon" + condition + " -l " + flag.name.substr(2) +
             (flag.takes_file    ? " -r -F"
              : flag.takes_value ? " -x"
                                 : "") +
             " -d '" + flag.description + "'\n";
    }
  }
  return out;
}

// A description inside the brackets of an argument of `_arguments`.
std::string bracketed(const std::string& text) {
  std::string out;
  for (const char c : text) {
    if (c == '[' || c == ']' || c == ':' || c == '\\') out += '\\';
    out += c;
  }
  return out;
}

std::string zsh(const std::vector<Verb>& verbs) {
  std::string out =
      "#compdef mamelon\n_mamelon() {\n  local path= word\n  for word in ${words[2,CURRENT-1]}; "
      "do\n    case \"$path $word\" in\n";
  for (const Verb& verb : verbs) {
    if (!verb.path.empty()) out += "      (' " + verb.path + "') path=' " + verb.path + "' ;;\n";
  }
  out += "    esac\n  done\n  case \"$path\" in\n";
  for (const Verb& verb : verbs) {
    out += "    ('" + (verb.path.empty() ? "" : " " + verb.path) + "')\n";
    if (!verb.inner.empty()) {
      out += "      local -a verbs=(";
      for (const std::string& inner : verb.inner) out += "'" + inner + "' ";
      out += ")\n      if [[ $words[CURRENT] != -* ]]; then compadd -a verbs; return; fi\n";
    }
    out += "      _arguments";
    for (const Flag& flag : verb.flags) {
      out += " '" + flag.name + "[" + bracketed(flag.description) + "]" +
             (flag.takes_file    ? ":file:_files"
              : flag.takes_value ? ":value:"
                                 : "") +
             "'";
    }
    out += " '*:file:_files' ;;\n";
  }
  return out + "  esac\n}\n_mamelon \"$@\"\n";
}

}  // namespace

std::string completion_script(const CLI::App& app, std::string_view shell) {
  std::vector<Verb> verbs;
  collect(app, "", verbs);
  if (shell == "bash") return bash(verbs);
  if (shell == "zsh") return zsh(verbs);
  if (shell == "fish") return fish(verbs);
  throw ArgumentError("completion: expected bash, zsh or fish, got \"" + std::string(shell) + "\"");
}

}  // namespace mamelon::cli
