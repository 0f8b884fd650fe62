#include "report/pdf/logo.hpp"

#include <algorithm>
#include <cstring>
#include <string_view>

#include <dlfcn.h>

#include "report/pdf/layout.hpp"

namespace sievecloth::pdf {
namespace {

struct Rest {
  std::string_view bytes;
};

cairo_status_t read_rest(void* closure, unsigned char* data, unsigned int length) {
  std::string_view& bytes = static_cast<Rest*>(closure)->bytes;
  if (bytes.size() < length) return CAIRO_STATUS_READ_ERROR;
  std::memcpy(data, bytes.data(), length);
  bytes.remove_prefix(length);
  return CAIRO_STATUS_SUCCESS;
}

std::string draw_png(cairo_t* cairo, const std::string& png) {
  Rest rest{png};
  cairo_surface_t* const picture = cairo_image_surface_create_from_png_stream(read_rest, &rest);
  const double width = cairo_image_surface_get_width(picture);
  const double height = cairo_image_surface_get_height(picture);
  const bool ok = cairo_surface_status(picture) == CAIRO_STATUS_SUCCESS && width > 0 && height > 0;
  if (ok) {
    const double scale = std::min(k_logo_width / width, k_logo_height / height);
    cairo_save(cairo);
    cairo_translate(cairo, k_page_width - k_margin - width * scale, k_top);
    cairo_scale(cairo, scale, scale);
    cairo_set_source_surface(cairo, picture, 0, 0);
    cairo_paint(cairo);
    cairo_restore(cairo);
  }
  cairo_surface_destroy(picture);
  return ok ? "" : "the logo is not a PNG picture";
}

// SVG needs a large library that hardly any report uses, so it is loaded only on demand. The declarations are those of librsvg 2.46
// and later.
struct Rectangle {
  double x, y, width, height;
};

std::string draw_svg(cairo_t* cairo, const std::string& svg) {
  void* const rsvg = ::dlopen("librsvg-2.so.2", RTLD_NOW | RTLD_LOCAL);
  if (rsvg == nullptr) return "a logo in SVG needs librsvg on this machine; a PNG needs nothing";
  const auto open =
      reinterpret_cast<void* (*)(const unsigned char*, std::size_t, void**)>(::dlsym(rsvg, "rsvg_handle_new_from_data"));
  const auto size = reinterpret_cast<int (*)(void*, double*, double*)>(::dlsym(rsvg, "rsvg_handle_get_intrinsic_size_in_pixels"));
  const auto render =
      reinterpret_cast<int (*)(void*, cairo_t*, const Rectangle*, void**)>(::dlsym(rsvg, "rsvg_handle_render_document"));
  if (open == nullptr || size == nullptr || render == nullptr) return "the librsvg of this machine is too old for a logo in SVG";
  void* const logo = open(reinterpret_cast<const unsigned char*>(svg.data()), svg.size(), nullptr);
  if (logo == nullptr) return "the logo is not an SVG picture";
  double width = 0, height = 0;
  if (size(logo, &width, &height) == 0 || width <= 0 || height <= 0) {
    width = k_logo_width;
    height = k_logo_height;
  }
  const double scale = std::min(k_logo_width / width, k_logo_height / height);
  const Rectangle place{k_page_width - k_margin - width * scale, k_top, width * scale, height * scale};
  return render(logo, cairo, &place, nullptr) != 0 ? "" : "the logo cannot be drawn";
}

}  // namespace

std::string draw_logo(cairo_t* cairo, const Letterhead& letterhead) {
  switch (letterhead.logo_kind) {
    case Letterhead::LogoKind::png: return draw_png(cairo, letterhead.logo);
    case Letterhead::LogoKind::svg: return draw_svg(cairo, letterhead.logo);
    case Letterhead::LogoKind::none: break;
  }
  return "";
}

}  // namespace sievecloth::pdf
