"""Five lines in your own software: plain data in, plain data out."""

from datetime import date

from coatrules import work_order

dog = {
    "format": 1,
    "dog": {"id": "pip"},
    "visits": [{"visit": "2026-02-28", "work": {"body": {"card": True, "pull": 0.2}}}],
}
order = work_order("griffon-bruxellois-rough", dog, date=date(2026, 3, 21), minutes=90).to_dict()
for step in order["steps"]:
    print(f"{step['step']:>2}. {step['task']:<8} {step['region'] or '':<14} {step['minutes']:>4} min  {step['how']}")
