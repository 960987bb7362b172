"""What every picture and paper shares: text, labels, sizes in words, cautions, how a plate is seen."""
