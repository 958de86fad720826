//! Values to text and pictures: tables, CSV, JSON, charts.
