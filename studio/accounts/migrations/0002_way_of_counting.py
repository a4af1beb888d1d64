from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('accounts', '0001_initial'),
    ]

    operations = [
        migrations.AddField(
            model_name='studio',
            name='felt_beats',
            field=models.BooleanField(default=False),
        ),
        migrations.AlterField(
            model_name='studio',
            name='syllables',
            field=models.CharField(default='1 & 2 &', max_length=160),
        ),
    ]
