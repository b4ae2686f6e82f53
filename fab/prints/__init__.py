"""Way up, plates, bed, grams and hours of the printed parts."""
