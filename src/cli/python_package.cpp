#include "cli/python_package.h"

#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <iostream>

#include <unistd.h>

#include "mamelon/error.h"

namespace mamelon::cli {
namespace {

namespace fs = std::filesystem;

// Runs the package, or says in one sentence why it cannot be had. The module and the verb come
// before the verb's own words.
constexpr const char* starter =
    "import importlib, sys\n"
    "module, verb = sys.argv[1:3]\n"
    "try:\n"
    "    main = importlib.import_module(module).main\n"
    "except ImportError as error:\n"
    "    sys.stderr.write('mamelon: the verb ' + verb + ' needs the Python package mamelon, which "
    "'\n"
    "        + sys.executable + ' cannot import (' + str(error).split('\\n')[0] + '): install it "
    "'\n"
    "        'with pip, or name another interpreter in MAMELON_PYTHON\\n')\n"
    "    sys.exit(6)\n"
    "sys.exit(main(sys.argv[3:]))\n";

fs::path folder_of_command() {
  std::error_code failed;
  const fs::path command = fs::read_symlink("/proc/self/exe", failed);
  return failed ? fs::path() : command.parent_path();
}

// The interpreter named by the user, else the one that the command was installed beside, else the
// one on the path.
std::string interpreter() {
  if (const char* named = std::getenv("MAMELON_PYTHON"); named != nullptr && *named != '\0') {
    return named;
  }
  const fs::path beside = folder_of_command() / "python3";
  return ::access(beside.c_str(), X_OK) == 0 ? beside.string() : "python3";
}

// In a build tree the package stands two folders above the command's.
void show_package_of_build_tree() {
  const fs::path package = folder_of_command().parent_path().parent_path() / "python";
  std::error_code failed;
  if (!fs::exists(package / "mamelon" / "__init__.py", failed)) return;
  const char* given = std::getenv("PYTHONPATH");
  const std::string path =
      package.string() + (given != nullptr && *given != '\0' ? ":" + std::string(given) : "");
  ::setenv("PYTHONPATH", path.c_str(), 1);
}

}  // namespace

void run_python(const std::string& verb, const std::string& module,
                const std::vector<std::string>& words) {
  show_package_of_build_tree();
  std::vector<std::string> all = {interpreter(), "-c", starter, module, verb};
  all.insert(all.end(), words.begin(), words.end());
  std::vector<char*> arguments;
  for (std::string& word : all) arguments.push_back(word.data());
  arguments.push_back(nullptr);
  std::cout << std::flush;
  // Takes this process's place, so that signals and the exit code are the package's own.
  ::execvp(arguments[0], arguments.data());
  throw IoError("the verb " + verb + " needs Python, and " + all[0] + " cannot be started: " +
                std::strerror(errno) + "; install python3, or name it in MAMELON_PYTHON");
}

}  // namespace mamelon::cli
