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
    for (const std::string_view place : {SIEVECLOTH_LIBRARIES_FROM_PROGRAMS "/sievecloth", "sievecloth", ""})
      files.push_back(folder / place / k_module);
  }
  files.emplace_back(fs::path(SIEVECLOTH_LIBRARIES) / "sievecloth" / k_module);
  return files;
}

Error failure(std::string message) { return {ErrorCode::cannot_create, std::move(message), "", "", {}}; }

// Pointers to functions inside a Result confuse GCC 12.
struct Module {
  PdfEntry write;
  LogoEntry draw_logo;
};

Result<Module> load(const std::string& module) {
  std::string last = "it is not where it belongs";
  for (const fs::path& file : module.empty() ? candidates() : std::vector<fs::path>{module}) {
    std::error_code ignored;
    if (!fs::exists(file, ignored)) continue;
    void* const handle = ::dlopen(file.c_str(), RTLD_NOW | RTLD_LOCAL);  // kept open: the next report would load it again
    void* const write = handle == nullptr ? nullptr : ::dlsym(handle, k_pdf_entry);
    void* const logo = write == nullptr ? nullptr : ::dlsym(handle, k_logo_entry);
    if (logo != nullptr) return Module{reinterpret_cast<PdfEntry>(write), reinterpret_cast<LogoEntry>(logo)};
    last = ::dlerror();
  }
  return failure(fmt::format("the module that draws PDF ({}) cannot be loaded: {}", k_module, last));
}

}  // namespace

Result<Pdf> to_pdf(const Report& report, const std::string& module) {
  const Result<Module> drawer = load(module);
  if (!drawer.ok()) return drawer.errors();
  Pdf pdf;
  std::string complaint;
  drawer->write(std::string(k_version).c_str(), report, pdf, complaint);
  if (!complaint.empty()) return failure(complaint);
  return pdf;
}

Result<void> check_logo(const Letterhead& letterhead, const std::string& module) {
  if (letterhead.logo_kind == Letterhead::LogoKind::none) return {};
  const Result<Module> drawer = load(module);
  if (!drawer.ok()) return drawer.errors();
  std::string complaint;
  drawer->draw_logo(std::string(k_version).c_str(), letterhead, complaint);
  return complaint.empty() ? Result<void>() : failure(complaint);
}

}  // namespace sievecloth
