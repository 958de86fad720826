//! Pictures: weekly harvest, kitchen hours and pickings, as SVG and PNG.
