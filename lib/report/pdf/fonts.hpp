// The typefaces of every PDF, and the one for characters that they lack. They are part of the module, so that its pages look the
// same on every machine.
#pragma once

#include <cairo.h>

#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

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

  struct Glyph {
    double advance = 0;   ///< at 1 pt
    bool missing = true;  ///< the font has a box for it and nothing else
  };

  cairo_font_face_t* face() const noexcept { return cairo_face_; }
  const Glyph& glyph(char32_t character) const;

 private:
  FT_Face face_ = nullptr;
  cairo_font_face_t* cairo_face_ = nullptr;
  mutable std::unordered_map<char32_t, Glyph> glyphs_;
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
  /// A part of a text in one font.
  struct Run {
    const Font* font;
    std::string_view text;
    double width;  ///< at 1 pt
  };

  Fonts();
  /// The runs of a text from left to right: in the regular or bold font, or in the third one where they lack a character.
  std::vector<Run> runs(std::string_view utf8, bool bold) const;
  double width(std::string_view utf8, double size, bool bold) const;
  /// Adds the characters of a text that no font has, each once, in their order.
  void add_missing(std::string_view utf8, std::u32string& missing) const;

 private:
  const Font& font_for(char32_t character, bool bold) const;
  const Font& fallback() const;

  FontLibrary library_;
  Font regular_;
  Font bold_;
  mutable std::optional<Font> fallback_;  // large, and hardly ever needed
};

}  // namespace sievecloth::pdf
