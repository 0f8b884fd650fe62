#include "sievecloth/report_pdf.hpp"

#include <filesystem>
#include <vector>

#include <dlfcn.h>
#include <fmt/format.h>

#include "report/pdf/module.hpp"
#include "sievecloth/version.hpp"

namespace sievecloth {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view k_module = "sievecloth-pdf.so";

// Paths beside the program and beside the library that contains this function, in the build tree as well as after installation.
std::vector<fs::path> candidates() {
  std::vector<fs::path> folders;
  std::error_code ignored;
  folders.push_back(fs::read_symlink("/proc/self/exe", ignored).parent_path());
  Dl_info info{};
  if (::dladdr(reinterpret_cast<const void*>(&to_pdf), &info) != 0 && info.dli_fname != nullptr)
    folders.push_back(fs::path(info.dli_fname).parent_path());
  std::vector<fs::path> files;
  for (const fs::path& folder : folders) {
    if (!folder.is_absolute()) continue;
    for (const std::string_view place : {"", "sievecloth", SIEVECLOTH_LIBRARIES_FROM_PROGRAMS "/sievecloth"})
      files.push_back(folder / place / k_module);
  }
  files.emplace_back(fs::path(SIEVECLOTH_LIBRARIES) / "sievecloth" / k_module);
  return files;
}

Error failure(std::string message) { return {ErrorCode::cannot_create, std::move(message), "", "", {}}; }

// A pointer to a function inside a Result confuses GCC 12.
struct Module {
  PdfEntry write;
};

Result<Module> load(const std::string& module) {
  std::string last = "it is not where it belongs";
  for (const fs::path& file : module.empty() ? candidates() : std::vector<fs::path>{module}) {
    std::error_code ignored;
    if (!fs::exists(file, ignored)) continue;
    void* const handle = ::dlopen(file.c_str(), RTLD_NOW | RTLD_LOCAL);  // never closed: the next report would load it again
    void* const entry = handle == nullptr ? nullptr : ::dlsym(handle, k_pdf_entry);
    if (entry != nullptr) return Module{reinterpret_cast<PdfEntry>(entry)};
    last = ::dlerror();
  }
  return failure(fmt::format("the module that draws PDF ({}) cannot be loaded: {}", k_module, last));
}

}  // namespace

Result<std::string> to_pdf(const Report& report, const std::string& module) {
  const Result<Module> drawer = load(module);
  if (!drawer.ok()) return drawer.errors();
  std::string pdf;
  std::string complaint;
  drawer->write(std::string(k_version).c_str(), report, pdf, complaint);
  if (!complaint.empty()) return failure(complaint);
  return pdf;
}

}  // namespace sievecloth
