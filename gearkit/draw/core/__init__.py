"""What every picture is made of: shapes, colours, label sizes, frame, state of a layout, export to PNG and PDF."""
