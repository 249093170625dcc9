"""The log of pressed sheets, the stock of flakes, and how sheets came out."""
