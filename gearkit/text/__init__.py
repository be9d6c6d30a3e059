"""Text as people read and type it: phrases, numbers, Markdown, MathML, and how a file is written. Import any module of it."""
