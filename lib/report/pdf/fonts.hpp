// The two typefaces of every PDF. They are part of the module, so that its pages look the same on every machine.
#pragma once

#include <cairo.h>

#include <string_view>
#include <unordered_map>

#include <ft2build.h>
#include FT_FREETYPE_H

namespace sievecloth::pdf {

class Font {
 public:
  /// A TrueType font; `bytes` must stay valid. Throws, here and while measuring, std::bad_alloc, or std::runtime_error for an
  /// invalid font.
  Font(FT_Library library, std::string_view bytes);
  ~Font();
  Font(const Font&) = delete;
  Font& operator=(const Font&) = delete;

  cairo_font_face_t* face() const noexcept { return cairo_face_; }
  /// Width of a text at 1 pt.
  double width(std::string_view utf8) const;

 private:
  double advance(char32_t character) const;
  double measure(char32_t character) const;

  FT_Face face_ = nullptr;
  cairo_font_face_t* cairo_face_ = nullptr;
  mutable std::unordered_map<char32_t, double> advances_;
};

class FontLibrary {
 public:
  FontLibrary();
  ~FontLibrary() { FT_Done_FreeType(library_); }
  FontLibrary(const FontLibrary&) = delete;
  FontLibrary& operator=(const FontLibrary&) = delete;
  FT_Library get() const noexcept { return library_; }

 private:
  FT_Library library_ = nullptr;
};

class Fonts {
 public:
  Fonts();
  const Font& get(bool bold) const noexcept { return bold ? bold_ : regular_; }
  double width(std::string_view utf8, double size, bool bold) const { return size * get(bold).width(utf8); }

 private:
  FontLibrary library_;
  Font regular_;
  Font bold_;
};

}  // namespace sievecloth::pdf
