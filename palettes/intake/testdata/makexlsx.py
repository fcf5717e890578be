# Writes card.xlsx beside this file: Debian's python3-openpyxl.
import os
from openpyxl import Workbook

book = Workbook()
notes = book.active
notes.title = "Read me"
sheet = book.create_sheet("Drills")
sheet.append(["Seaside print room, invented"])
sheet.append([])
sheet.append(["Color no.", "Name", "Finish", "L*", "a*", "b*", "Hex"])
sheet.append([7, "foam", None, 97.5, -0.25, 1.5, None])
sheet["A4"].number_format = "000"
sheet.append(["SR-041", "dune sand", "Plain", 79.9, 4.2, 17.1, "#dac2a7"])
sheet.append(["SR-041", "dune sand, AB", "ab", 81.0, 4.0, 17.0, None])
sheet.append(["=1+1", "a formula", None, 50, 0, 0, None])
sheet.append(["SR-044", "no color", None, None, None, None, None])
sheet.append(["SR-045", "by hex", None, None, None, None, "C86432"])
book.save(os.path.join(os.path.dirname(os.path.abspath(__file__)), "card.xlsx"))
